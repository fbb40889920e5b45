import { say } from '../core/message/message.ts';
import { stageOf } from '../core/job/stages.ts';
import { count, moment } from './fact.ts';
import { dataText, eventsNamed, gapS } from '../core/audit/gather.ts';
import type { Gathered } from './gather.ts';
import { type EmitterRow, emitterRows } from './parts/emitter-rows.ts';
import { sampleRows } from './parts/sample-rows.ts';

/** At the top of the report: what came of it, in one sentence. */
export function headline(g: Gathered): string {
  const rows = emitterRows(g);
  const of = (result: EmitterRow['result']): number => rows.filter((r) => r.result === result).length;
  const parts = [`${of('done')} of ${count(rows.length, 'emitter')} done`];
  for (const [result, words] of others) if (of(result) > 0) parts.push(`${of(result)} ${words}`);
  const { rinse } = g.driven;
  if (rinse)
    parts.push(
      rinse.clearAtS !== null
        ? 'rinsed to mains level'
        : rinse.withheld
          ? 'rinse not judged'
          : 'rinse ended above mains level',
    );
  else parts.push('no rinse recorded');
  return `${parts.join('; ')}.`;
}

const others: readonly (readonly [EmitterRow['result'], string])[] = [
  ['clear', 'clear when left'],
  ['not-clear', 'not clear when left'],
  ['cannot-tell', 'not to be judged'],
  ['skipped', 'skipped'],
  ['not-visited', 'not worked on'],
];

/** What an auditor must see first, the gravest kinds before the others. */
export function exceptions(g: Gathered): string[] {
  return [
    ...unfit(g),
    ...overridden(g),
    ...leftEarly(g),
    ...notDone(g),
    ...rinseAndWater(g),
    ...notices(g),
    ...measuring(g),
  ];
}

function unfit({ input }: Gathered): string[] {
  return input.seal?.state === 'broken'
    ? ['The seal does not fit this record: limpid verify says what was changed.']
    : [];
}

function nameOf(g: Gathered, id: string): string {
  return g.driven.context.emitters.find((e) => e.id === id)?.name ?? id;
}

function overridden(g: Gathered): string[] {
  return eventsNamed(g, 'override').map(({ event, who }) => {
    const by = who === '' ? '' : ` by ${who}`;
    return `Overridden${by} at ${moment(event.timeS)}: ${nameOf(g, event.emitter)}. Reason: ${event.note || 'none was given'}.`;
  });
}

/** A reason is asked for when something is still open at the end of a stage. */
function leftEarly(g: Gathered): string[] {
  return g.stays.flatMap((s) =>
    s.why === '' ? [] : [`Went on from "${stageOf(s.stage)?.title ?? s.stage}" at ${moment(s.toS)}. Reason: ${s.why}.`],
  );
}

const why: Readonly<Record<EmitterRow['result'], string>> = {
  done: '',
  clear: 'left when clear, but its last pass still brought dirt',
  'not-clear': 'left before it was clear',
  'cannot-tell': 'could not be judged',
  skipped: 'skipped',
  'not-visited': 'not worked on',
};

function notDone(g: Gathered): string[] {
  return emitterRows(g)
    .filter((r) => r.result !== 'done')
    .map((r) => `${r.name}: ${why[r.result]}. ${r.reason}`.trim());
}

function rinseAndWater(g: Gathered): string[] {
  const { rinse } = g.driven;
  const found: string[] = [];
  if (rinse && rinse.clearAtS === null) {
    const { code, figures } = rinse.verdict.reason;
    found.push(`Rinse: ${say({ code, params: figures })}`);
  }
  for (const row of sampleRows(g))
    if (row.verdict === 'outside') found.push(`Water after: ${row.title} is outside its limit (${row.limit}).`);
  return found;
}

/** Each kind of remark once, with how often and where first. */
function notices(g: Gathered): string[] {
  const codes = [...new Set(g.driven.notices.map((n) => n.reason.code))];
  return codes.flatMap((code) => {
    const all = g.driven.notices.filter((n) => n.reason.code === code);
    const first = all[0];
    if (!first) return [];
    const text = say({ code: first.reason.code, params: first.reason.figures });
    return [`${moment(first.atS)}: ${text}${all.length > 1 ? ` (${all.length} times)` : ''}`];
  });
}

function measuring(g: Gathered): string[] {
  const found: string[] = [];
  const seconds = g.gaps.reduce((sum, gap) => sum + gap.toS - gap.fromS, 0);
  if (g.gaps.length > 0)
    found.push(
      `${count(g.gaps.length, 'gap')} of over ${gapS} s in the readings, ${Math.round(seconds)} s in all; listed below.`,
    );
  for (const { event } of eventsNamed(g, 'calibrated')) {
    if (dataText(event, 'state') === 'overdue')
      found.push(`Calibration overdue: ${dataText(event, 'channel')} (due ${dataText(event, 'due')}).`);
  }
  return found;
}
