import { whoWords } from '../../core/job/who.ts';
import { auditGathered, type Audit } from '../../core/audit/audit.ts';
import { type Gathered, gather } from '../../core/audit/gather.ts';
import { emitterOutcomes, nameOf } from '../../core/audit/outcome.ts';
import type { AuditVisit, LookedAtRun } from '../../core/audit/page-schema.ts';
import type { AuditSettings } from '../../core/audit/settings.ts';
import { type RunSummary, summarise } from '../../core/audit/summary.ts';
import { stageOf } from '../../core/job/stages.ts';
import { say } from '../../core/message/message.ts';
import type { Uncertain } from '../../core/quantity/interval.ts';
import { figure, words } from '../../report/fact.ts';
import { facts } from '../../report/facts.ts';
import type { ReportInput } from '../../report/gather.ts';
import { sampleRows } from '../../report/parts/sample-rows.ts';
import { resultWords } from '../../report/parts/emitter-rows.ts';
import { type Columns, decimate } from '../../store/decimate.ts';

export interface Looked {
  readonly page: LookedAtRun;
  readonly summary: RunSummary;
}

/** Buckets of the small picture of a visit. */
const miniBuckets = 90;

/** Hold a run to the rules and put together what its page shows. Pure: the same record gives the same page. */
export function lookAt(input: ReportInput, columns: Columns, settings: AuditSettings, rules: string): Looked {
  const g = gather(input);
  const audit = auditGathered(g, settings);
  return { page: pageOf(g, audit, columns, rules), summary: summarise(g, audit) };
}

function pageOf(g: Gathered<ReportInput>, audit: Audit, columns: Columns, rules: string): LookedAtRun {
  return {
    endS: g.endS,
    facts: Object.values(facts(g)).map(({ label, fact }): [string, string] => [label, words(fact)]),
    stages: g.stays.map(({ stage, fromS, toS, why, leftBy }) => ({
      stage,
      title: stageOf(stage)?.title ?? stage,
      fromS,
      toS,
      why,
      by: leftBy,
    })),
    marks: g.input.entries.map(({ event, who, wallAt }) => ({
      timeS: event.timeS,
      event: event.event,
      emitter: event.emitter === '' ? '' : nameOf(g, event.emitter),
      note: event.note,
      who: whoWords(who),
      wallAt,
    })),
    verdicts: g.driven.spans.map(({ state, done, fromS, toS }) => ({ state, done, fromS, toS: toS ?? g.endS })),
    levels: levelsOf(g),
    gaps: g.gaps.map(({ fromS, toS, what }) => ({ fromS, toS, what })),
    visits: g.visits.map((v) => visitOf(g, v, columns)),
    findings: audit.findings.map((f) => ({
      ...f,
      spans: f.spans.map(([a, b]): [number, number] => [a, b]),
      figures: { ...f.figures },
      emitter: f.emitter === '' ? '' : nameOf(g, f.emitter),
    })),
    notApplicable: audit.notApplicable.map(({ id, title, because }) => ({ id, title, because })),
    tests: sampleRows(g),
    plan: planOf(g),
    rules,
  };
}

function visitOf(
  g: Gathered<ReportInput>,
  { visit, toS, litres, solidsG, isLeast }: Gathered['visits'][number],
  columns: Columns,
): AuditVisit {
  const drawn = decimate(columns, ['turbidityNtu'], visit.fromS, toS, miniBuckets);
  return {
    emitter: visit.emitter,
    name: nameOf(g, visit.emitter),
    visit: visit.visit,
    fromS: visit.fromS,
    toS,
    passesS: [...visit.passesS],
    clears: visit.clears.map((c): [number, number] => [c.fromS, c.toS ?? toS]),
    pulses: visit.pulses.map(({ onsetS, peakS, peakNtu, endS }) => ({ onsetS, peakS, peakNtu, endS })),
    state: visit.verdict.state,
    done: visit.verdict.done,
    withheld: visit.withheld,
    reason: say({ code: visit.verdict.reason.code, params: visit.verdict.reason.figures }),
    litres,
    solidsG: solidsG?.value ?? null,
    isLeast,
    mini: {
      timeS: drawn.timeS.map((t) => rounded(t - visit.fromS, 10)),
      ntu: (drawn.values.turbidityNtu ?? []).map((y) => (y === null ? null : rounded(y, 100))),
    },
  };
}

const rounded = (value: number, parts: number): number => Math.round(value * parts) / parts;

/** Background and clear level where they moved by more than a fiftieth, began or ended: what a line needs. */
function levelsOf(g: Gathered): LookedAtRun['levels'] {
  const kept: [number, number | null, number | null][] = [];
  const moved = (a: number | null, b: number | null): boolean =>
    a === null || b === null ? a !== b : Math.abs(a - b) > 0.02 * Math.max(0.5, Math.abs(b));
  for (const { timeS, backgroundNtu, clearNtu } of g.driven.levels) {
    const last = kept.at(-1);
    if (last && !moved(backgroundNtu, last[1]) && !moved(clearNtu, last[2])) continue;
    const short = (y: number | null): number | null => (y === null ? null : rounded(y, 100));
    kept.push([rounded(timeS, 10), short(backgroundNtu), short(clearNtu)]);
  }
  // Where readings end the levels end, too.
  const last = g.driven.levels.at(-1);
  if (last) kept.push([rounded(last.timeS, 10), null, null]);
  return kept;
}

/** What was planned beside what was done: order of the emitters, litres of the system, doses. */
function planOf(g: Gathered<ReportInput>): LookedAtRun['plan'] {
  const { job, worked } = g.driven;
  const order = g.driven.context.emitters.map((e) => e.id);
  const visited = [...new Set(g.visits.map((v) => v.visit.emitter))];
  const place = (list: readonly string[], id: string): number => list.indexOf(id) + 1;
  const rows = emitterOutcomes(g).map((e) => {
    const planned = place(order, e.id);
    const done = place(visited, e.id);
    const passes = e.visits.reduce((sum, v) => sum + v.visit.passesS.length, 0);
    const result = resultWords[e.result];
    const isOther = e.result === 'skipped' || e.result === 'not-visited' || e.result === 'not-clear';
    return {
      what: e.name,
      planned: planned === 0 ? 'not in the survey' : `${ordinal(planned)} of ${order.length}`,
      done: done === 0 ? result : `${ordinal(done)}, ${passes} ${passes === 1 ? 'pass' : 'passes'}, ${result}`,
      note: e.skip?.note ?? (done !== 0 && planned !== 0 && done !== planned ? 'in another order' : ''),
      differs: isOther || planned === 0,
    };
  });
  return [...rows, ...amounts(worked, job)];
}

function amounts(worked: Gathered['driven']['worked'], job: Gathered['driven']['job']): LookedAtRun['plan'] {
  const rows: LookedAtRun['plan'] = [];
  const litres = (u: Uncertain | null): string => (u === null ? 'not known' : figure(u.value, 'l'));
  if (worked.fill !== null)
    rows.push({
      what: 'Water in the system',
      planned: `${litres(worked.fill.surveyed)} surveyed`,
      done: `${litres(worked.fill.measured)} filled`,
      note: worked.fill.verdict === 'agree' ? '' : 'apart by more than their uncertainty',
      differs: worked.fill.verdict !== 'agree',
    });
  for (const what of ['cleaner', 'inhibitor'] as const) {
    const dose = worked.doses[what];
    const added = job.doses.filter((d) => d.what === what).length > 0 ? worked.added[what] : null;
    if (!dose?.ok && added === null) continue;
    const planned = dose?.ok ? dose.value : null;
    const share = worked.strength[what];
    const isOff = share !== null && (share.value < 0.8 || share.value > 1.5);
    rows.push({
      what: what === 'cleaner' ? 'Cleaner' : 'Inhibitor',
      planned: planned === null ? 'no label rate' : litres(planned),
      done: added === null ? 'none added' : figure(added, 'l'),
      note: share === null ? '' : `${Math.round(100 * share.value)} % of the label rate`,
      differs: added === null || isOff,
    });
  }
  return rows;
}

function ordinal(n: number): string {
  const teen = n % 100 >= 11 && n % 100 <= 13;
  return `${n}${teen ? 'th' : (['th', 'st', 'nd', 'rd'][n % 10] ?? 'th')}`;
}
