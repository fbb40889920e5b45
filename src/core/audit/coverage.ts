import { indexAt } from '../quantity/in-time.ts';
import { type StageName, stageNames } from '../job/event.ts';
import type { SampleKey } from '../quantity/channels.ts';
import { type Extremes, spanOf, withoutLone } from '../quantity/lone.ts';
import type { Sample } from '../quantity/sample.ts';
import type { Span } from './finding.ts';
import { sealEvent, type SealNamed, sealNamed } from '../seal/named.ts';
import { type Gathered } from './gather.ts';
import { type Judged, notApplicable } from './rule.ts';
import { type Point, pointsOf, secondsOf } from './stretch.ts';

/** Stages that a rig's readings tell of; the others are told by the engineer alone. */
const measured: ReadonlySet<StageName> = new Set(['emitters', 'circulate', 'rinse']);

/** True when the record follows the whole job, and not the work on the emitters and the rinse alone. */
export function tellsWholeJob(g: Gathered): boolean {
  return g.stays.some((s) => s.stage !== 'baseline' && s.stage !== 'end' && !measured.has(s.stage));
}

/** True when the run is over: the end was told, it was handed over or sealed, or it is a recording from elsewhere. */
export function isOver(g: Gathered): boolean {
  const { job } = g.driven;
  const isSealed = g.input.seal !== null || sealEntry(g) !== null;
  return job.stage === 'end' || job.handedOver !== null || g.input.chain === null || isSealed;
}

/** The seal that the record itself tells of, whether it is here or not; null: none. */
export function sealEntry({ input }: Pick<Gathered, 'input'>): SealNamed | null {
  return sealNamed(input.entries.findLast(({ event }) => event.event === sealEvent));
}

/** True when the run has gone beyond this stage, or is over. */
export function isPast(g: Gathered, stage: StageName): boolean {
  if (isOver(g)) return true;
  return stageNames.slice(stageNames.indexOf(stage) + 1).some((later) => g.stays.some((s) => s.stage === later));
}

/**
 * Why a rule about this stage cannot be held to this run, or null: the record does not follow it, the run has not come
 * so far, or the stage was left out for a reason (which has a rule of its own).
 */
export function stageMissing(g: Gathered, stage: StageName): Judged | null {
  if (!measured.has(stage) && !tellsWholeJob(g)) return notApplicable('part-recorded');
  const isEntered = g.stays.some((s) => s.stage === stage);
  if (!isPast(g, stage)) return notApplicable(isEntered ? 'under-way' : 'not-reached');
  if (isEntered) return null;
  const { status, why } = g.driven.job.course[stage];
  if (status === 'skipped' && why !== '') return notApplicable('stage-skipped-why', { why });
  return measured.has(stage) && !tellsWholeJob(g) ? notApplicable('part-recorded') : null;
}

/** When these stages were, s. Work on emitters in a record without stages is where its visits are. */
export function timesOf(g: Gathered, ...stages: readonly StageName[]): Span[] {
  const stays = g.stays.filter((s) => stages.some((name) => name === s.stage)).map((s): Span => [s.fromS, s.toS]);
  if (stays.length > 0 || !stages.includes('emitters')) return stays;
  return g.visits.map((v): Span => [v.visit.fromS, v.toS]);
}

const known = new WeakMap<Gathered, readonly Sample[]>();

/** The run second by second; nearly every rule asks, and a run is long. */
function secondsOfRun(g: Gathered): readonly Sample[] {
  const seconds = known.get(g) ?? secondsOf(g.input.samples);
  known.set(g, seconds);
  return seconds;
}

/** Means of one channel over each second of the run. */
export function meansOfRun(g: Gathered, key: SampleKey): Point[] {
  return pointsOf(secondsOfRun(g), key);
}

/** The same over the seconds that lie whole within these spans. */
export function meansIn(g: Gathered, times: readonly Span[], key: SampleKey): Point[] {
  const seconds = secondsOfRun(g);
  const within = times.flatMap(([fromS, toS]) =>
    seconds.slice(indexAt(seconds, fromS), indexAt(seconds, toS - 1 + 1e-9)),
  );
  return pointsOf(within, key);
}

const borne = new WeakMap<Gathered, Partial<Record<SampleKey, Float64Array>>>();

/** Lowest and highest reading of a channel within these spans, lone wild ones aside; null: none. */
export function extremesIn(g: Gathered, times: readonly Span[], key: SampleKey): Extremes | null {
  const all = borne.get(g) ?? {};
  borne.set(g, all);
  const { samples } = g.input;
  const readings = (all[key] ??= withoutLone(columnOf(samples, key)));
  const spans = times.flatMap(([fromS, toS]) => {
    const span = spanOf(readings.subarray(indexAt(samples, fromS), indexAt(samples, toS + 1e-9)));
    return span ? [span.low, span.high] : [];
  });
  return spanOf(spans);
}

function columnOf(samples: readonly Sample[], key: SampleKey): Float64Array {
  const out = new Float64Array(samples.length);
  for (const [i, sample] of samples.entries()) out[i] = sample[key] ?? Number.NaN;
  return out;
}

/** True when this channel gave a value in this run. */
export function hasSeen(g: Gathered, key: SampleKey): boolean {
  return g.driven.live.seen.has(key);
}
