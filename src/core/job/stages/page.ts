import { textOfLimits } from '../../chemistry/limits-csv.ts';
import { stageNames } from '../event.ts';
import { entryCautions } from '../moves.ts';
import { isStageName } from '../record.ts';
import { stageOf } from '../stages.ts';
import { textOfSurvey } from '../survey-rows.ts';
import type { JobView, StagePage, StagePoint } from '../view-schema.ts';
import { cautions } from './cautions.ts';
import { type Condition, type Form, type Look, need, standOf } from './stage.ts';
import { typedEntries } from '../correct.ts';
import type { Entry } from '../state.ts';
import { stageSpecs } from './table.ts';
import type { Message, Teller } from '../../message/message.ts';

/** Reasons to go another way, chosen with a glove on; free words may be added. */
export const reasons = [
  'Not needed on this system',
  'Done before this run',
  'Cannot be reached today',
  'No sensor for it',
  'Checked by other means',
  'Client asked for it',
  'Out of time today',
  'Something went wrong: again',
] as const;

/** Why a run rests. */
export const pauseReasons = ['Over night', 'Waiting for parts', 'Waiting for people', 'Something is wrong'] as const;

/** What is missing before the run may move on; empty: the gate is open. Cautions to acknowledge come last: they are confirmed when all else is done. */
export function gateOf(look: Look): readonly Message[] {
  const { job } = look;
  if (!isStageName(job.stage)) return [];
  const spec = stageSpecs[job.stage];
  return [...spec.gate(look), ...unreadBefore(look, job.stage)];
}

/** Gating cautions that are still unread before the stage after this one may begin. */
function unreadBefore(look: Look, stage: (typeof stageNames)[number]): Message[] {
  const next = stageNames[stageNames.indexOf(stage) + 1];
  const ids = [...(stageSpecs[stage].leaveAfter ?? []), ...(next ? (stageSpecs[next].enterAfter ?? []) : [])];
  return ids
    .filter((id) => !look.job.cautionsRead.includes(id))
    .map((id) => need('caution', { title: cautions[id].title }));
}

/** The page of the stage under way; `null` outside the thirteen. That of the emitters stands behind the line's own. */
export function stagePage(look: Look, say: Teller['say']): StagePage | null {
  const { job } = look;
  // What was handed over and ended stays on the page of the hand-over: its record is there.
  const stage = job.stage === 'end' && job.handedOver ? 'hand-over' : job.stage;
  if (!isStageName(stage)) return null;
  const spec = stageSpecs[stage];
  return {
    name: spec.name,
    number: stageNames.indexOf(spec.name) + 1,
    steps: [...spec.steps(look)],
    cautions: spec.cautions.map((id) => ({ id, ...cautions[id], read: job.cautionsRead.includes(id) })),
    conditions: (spec.conditions?.(look) ?? []).map(conditionView),
    checks: (spec.checks?.(look) ?? []).map((c) => ({ ...c, done: job.checks.includes(c.id) })),
    deeds: (spec.deeds?.(look) ?? []).map((d) => ({
      id: d.event,
      label: d.label,
      event: d.event,
      emitter: d.emitter ?? '',
      note: d.note ?? '',
      hold: false,
      primary: false,
      why: false,
    })),
    forms: (spec.forms?.(look) ?? []).map((f) => formView(f, lastOf(look, f.event, f.fixed))),
    table: tableOf(look),
    warnings: (spec.warnings?.(look) ?? []).map(say),
    remarks: (spec.remarks?.(look) ?? []).map(say),
    missing: gateOf(look).map(say),
    limits: stage.endsWith('-samples') ? limitsView(look) : null,
    survey: stage === 'survey' ? surveyRows(look) : null,
  };
}

type FormView = StagePage['forms'][number];

function formView(form: Form, last: FormView['last']): FormView {
  const fields = form.fields.map((field) => ({ ...field, choices: [...(field.choices ?? [])] }));
  return { ...form, fixed: { ...form.fixed }, fields, last };
}

/** What was typed, each in its form, to be put right. */
export function typedView(log: readonly Entry[]): JobView['typed'] {
  return typedEntries(log).map(({ id, timeS, form, data }) => {
    const { about: _, ...plainForm } = form;
    return { id, timeS, form: formView(plainForm, plain(data)) };
  });
}

function tableOf(look: Look): StagePage['table'] {
  const { stage } = look.job;
  const table = isStageName(stage) ? (stageSpecs[stage].table?.(look) ?? null) : null;
  return table && { title: table.title, head: [...table.head], rows: table.rows.map((r) => [...r]) };
}

function conditionView(c: Condition): StagePage['conditions'][number] {
  const finite = (v: number | null | undefined): number | null =>
    v !== null && v !== undefined && Number.isFinite(v) ? v : null;
  return {
    id: c.id,
    label: c.label,
    value: finite(c.value),
    u: finite(c.u),
    kind: c.kind ?? null,
    perMin: c.perMin ?? false,
    unit: c.unit ?? '',
    decimals: c.decimals ?? null,
    least: finite(c.least),
    most: finite(c.most),
    words: c.words ?? '',
    note: c.note ?? '',
    stand: standOf(c),
  };
}

/** What was kept last of this form, so that it is seen and can be corrected by typing it again. */
function lastOf(
  look: Look,
  event: string,
  fixed: Readonly<Record<string, string>>,
): Record<string, string | number> | null {
  const key = fixed['water'] ?? fixed['what'];
  const { job } = look;
  const weighed = job.weighed.at(-1);
  if (event === 'weighed') return weighed ? { grams: weighed.grams, how: weighed.how } : null;
  const typed = event === 'hand-over' ? job.handedOver : job.entries[`${event} ${key ?? ''}`];
  if (!typed || event === 'dose') return null;
  return plain(typed.data);
}

function limitsView({ worked }: Look): StagePage['limits'] {
  return { name: worked.limits.name, csv: textOfLimits(worked.limits) };
}

function surveyRows({ job, worked }: Look): StagePage['survey'] {
  return {
    system: job.survey.system,
    told: job.surveyTold,
    csv: textOfSurvey(job.survey),
    emitters: job.survey.emitters.map((e) => ({ ...plain(e) })),
    runs: job.survey.runs.map((r) => ({ ...plain(r) })),
    others: job.survey.others.map((o) => ({ ...plain(o), kind: o.isRig ? 'rig' : 'other' })),
    order: worked.order.map((o) => o.id),
  };
}

function plain(part: Readonly<Record<string, unknown>>): Record<string, string | number> {
  const members = Object.entries(part).flatMap(([name, value]): [string, string | number][] =>
    typeof value === 'string' || typeof value === 'number' ? [[name, value]] : [],
  );
  return Object.fromEntries(members);
}

/** The thirteen stages as a time line of the run. */
export function timeLine({ job }: Pick<Look, 'job'>): StagePoint[] {
  return stageNames.map((name) => {
    const { status, why, times } = job.course[name];
    const unread = entryCautions(job, name).map((id) => ({ id, title: cautions[id].title, text: cautions[id].text }));
    return { name, title: stageOf(name)?.title ?? name, status, why, times, cautions: unread };
  });
}
