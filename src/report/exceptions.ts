import { rinseEndOf } from '../core/rinse/end.ts';
import { overdoseShare } from '../core/chemistry/dose.ts';
import { typedFigure } from '../core/job/stages/stage.ts';
import { whoWords } from '../core/job/who.ts';
import { say } from '../core/message/message.ts';
import { stageOf } from '../core/job/stages.ts';
import { alarmWords, priorityOf } from './alarm-words.ts';
import { count, duration, figure, moment } from './fact.ts';
import { dataText, eventsNamed, gapS } from '../core/audit/gather.ts';
import { nameOf } from '../core/audit/outcome.ts';
import { setBacks } from '../core/audit/set-back.ts';
import { type Gathered, isByOtherKey, isChanged } from './gather.ts';
import { quantity, sentence } from './in-units.ts';
import { type EmitterRow, emitterRows } from './parts/emitter-rows.ts';
import { sampleRows } from './parts/sample-rows.ts';
import { sealGoneWords } from './seal-gone.ts';

/** At the top of the report: what came of it, in one sentence. */
export function headline(g: Gathered): string {
  const rows = emitterRows(g);
  const of = (result: EmitterRow['result']): number => rows.filter((r) => r.result === result).length;
  const parts = [`${of('done')} of ${count(rows.length, 'emitter')} done`];
  for (const [result, words] of others) if (of(result) > 0) parts.push(`${of(result)} ${words}`);
  const { rinse } = g.driven;
  parts.push(rinse ? rinseWords[rinse.withheld ? 'untold' : rinseEndOf(rinse.verdict)] : 'no rinse recorded');
  return `${parts.join('; ')}.`;
}

const rinseWords = {
  'at-mains': 'rinsed to mains level',
  briefly: 'rinse ended under its limits, but too soon to tell',
  'above-mains': 'rinse ended above mains level',
  untold: 'rinse not judged',
} as const;

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
    ...clockSetBack(g),
    ...overdoses(g),
    ...overridden(g),
    ...notDone(g, isGrave),
    ...rinseAndWater(g),
    ...protection(g),
    ...notDone(g, (r) => !isGrave(r)),
    ...alarmsRaised(g),
    ...photosGone(g),
    ...putRight(g),
    ...leftEarly(g),
    ...notices(g),
    ...measuring(g),
  ];
}

function unfit(g: Gathered): string[] {
  const { input } = g;
  const gone = sealGoneWords(g);
  const goneToo = gone === '' ? [] : [gone];
  if (!isChanged(input)) return goneToo;
  const [first, ...more] = input.faults ?? [];
  if (!first) return ['The seal does not fit this record: limpid verify says what was changed.'];
  const rest = more.length > 0 ? ` ${more.length} more under "Seal".` : '';
  const what = isByOtherKey(input)
    ? 'The seal is not the one that closed this record, so'
    : 'The record was changed, and';
  return [`${what} nothing in it is proved. ${say(first)}${rest}`, ...goneToo];
}

/** A jump beyond doubt; the audit looks closer. */
const clockJumpS = 60;

/** Else a run may end before it began, and nobody would know why. */
function clockSetBack({ input }: Gathered): string[] {
  return setBacks(input.entries, clockJumpS).map(
    ({ span, byS }) =>
      `The clock of the bridge was set back by ${duration(-byS)} between ${moment(span[0])} and ${moment(span[1])}: times of day before and after do not fit together, that of the seal among them. Times on the run's clock are right.`,
  );
}

function overridden(g: Gathered): string[] {
  return eventsNamed(g, 'override').map(({ event, who }) => {
    const by = who === '' ? '' : ` (${whoWords(who)})`;
    return `Overridden at ${moment(event.timeS)}${by}: ${nameOf(g, event.emitter)}. Reason: ${event.note || 'none was given'}.`;
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

/** Dirt may still be in it, as far as anybody can tell. */
const isGrave = ({ result }: EmitterRow): boolean => result === 'not-clear' || result === 'cannot-tell';

function notDone(g: Gathered, these: (r: EmitterRow) => boolean): string[] {
  // Those that were left out for the same reason are told at once, before those that were worked on.
  const together = new Map<string, string[]>();
  const alone: string[] = [];
  for (const r of emitterRows(g)) {
    if (r.result === 'done' || !these(r)) continue;
    const reason = r.skip ? `Reason: ${r.skip.note || 'none was given'}.` : r.reason;
    const words = `${why[r.result]}. ${reason}`.trim();
    if (r.visits.length > 0) alone.push(`${r.name}: ${words}`);
    else together.set(words, [...(together.get(words) ?? []), r.name]);
  }
  return [...[...together].map(([words, names]) => `${fewNames(names)}: ${words}`), ...alone];
}

/** Of many the first few: the table of the emitters has them all. */
function fewNames(names: readonly string[]): string {
  const most = 8;
  if (names.length <= most) return names.join(', ');
  return `${names.slice(0, most - 1).join(', ')} and ${names.length - most + 1} more`;
}

function rinseAndWater(g: Gathered): string[] {
  const { rinse } = g.driven;
  const found: string[] = [];
  if (rinse && rinse.clearAtS === null) {
    const { code, figures } = rinse.verdict.reason;
    found.push(`Rinse: ${sentence(g, { code, params: figures })}`);
  }
  for (const row of sampleRows(g))
    if (row.verdict === 'outside') found.push(`Water after: ${row.title} is outside its limit (${row.limit}).`);
  return found;
}

function overdoses(g: Gathered): string[] {
  const { strength, added } = g.driven.worked;
  return (['cleaner', 'inhibitor'] as const).flatMap((what) => {
    const share = strength[what]?.value ?? 0;
    if (share <= overdoseShare) return [];
    return [
      `${quantity(g, added[what], 'volume')} of ${what} added: about ${(100 * share).toFixed(0)} % of what the label wants.`,
    ];
  });
}

function protection({ driven }: Gathered): string[] {
  const found: string[] = [];
  const percent = typedFigure(driven.job, 'inhibitor-strength');
  if (percent !== null && percent < 90)
    found.push(`The inhibitor tested at ${figure(percent, '%')} of the label's strength.`);
  const { tolerance, left, tolerated } = driven.worked;
  if (tolerance === 'too-much' && left.share)
    found.push(
      `More cleaner is left than the inhibitor stands: ${figure(100 * left.share.value, '%')} of its dose, at most ${figure(100 * tolerated, '%')}.`,
    );
  return found;
}

/** Their number and the urgent ones by name: the list stands further on. */
function alarmsRaised({ driven }: Gathered): string[] {
  const { alarms } = driven;
  if (alarms.length === 0) return [];
  const urgent = new Set(alarms.filter((a) => priorityOf(a.kind) === 'urgent').map((a) => alarmWords(a.kind)));
  const most = urgent.size === 0 ? 'none urgent' : `urgent: ${[...urgent].join(', ')}`;
  return [`${count(alarms.length, 'alarm')} rose, ${most}; listed below.`];
}

/** What was typed and changed since: their number, since the list stands further on. */
function putRight({ struck }: Gathered): string[] {
  if (struck.length === 0) return [];
  const were = struck.length === 1 ? 'was' : 'were';
  return [`${count(struck.length, 'typed figure')} ${were} put right or taken back; listed below.`];
}

/** Photos that the record names and that are not there, or are not what was kept. */
function photosGone({ driven, input }: Gathered): string[] {
  if (!input.beside) return [];
  const gone = driven.job.photos.filter((p) => p.file !== '' && !input.beside?.photos.has(p.file));
  return gone.map((p) => `The photo "${p.what}" that the record names is not there, or was changed.`);
}

/** Each kind of remark once, with how often and where first. */
function notices(g: Gathered): string[] {
  const codes = [...new Set(g.driven.notices.map((n) => n.reason.code))];
  return codes.flatMap((code) => {
    const all = g.driven.notices.filter((n) => n.reason.code === code);
    const first = all[0];
    if (!first) return [];
    const text = sentence(g, { code: first.reason.code, params: first.reason.figures });
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
