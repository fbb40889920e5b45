import { indexAt } from '../quantity/in-time.ts';
import { type StageName, stageNames } from '../job/event.ts';
import type { SampleKey } from '../quantity/channels.ts';
import type { Span } from './finding.ts';
import { type Gathered } from './gather.ts';
import { type Judged, notApplicable } from './rule.ts';
import { type Point, secondMeans } from './stretch.ts';

/** Stages that a rig's readings tell of; the others are told by the engineer alone. */
const measured: ReadonlySet<StageName> = new Set(['emitters', 'circulate', 'rinse']);

/** True when the record follows the whole job, and not the work on the emitters and the rinse alone. */
export function tellsWholeJob(g: Gathered): boolean {
  return g.stays.some((s) => s.stage !== 'baseline' && s.stage !== 'end' && !measured.has(s.stage));
}

/** True when the run is over: the end was told, it was handed over or sealed, or it is a recording from elsewhere. */
export function isOver(g: Gathered): boolean {
  const { job } = g.driven;
  return job.stage === 'end' || job.handedOver !== null || g.input.chain === null || g.input.seal !== null;
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

/** Means of one channel over the whole seconds of these spans; the instant at which one ends belongs to what follows. */
export function meansIn(g: Gathered, times: readonly Span[], key: SampleKey): Point[] {
  const { samples } = g.input;
  return secondMeans(
    samples,
    key,
    times.map(([fromS, toS]) => [indexAt(samples, fromS), indexAt(samples, toS)] as const),
  );
}

const runMeans = new WeakMap<Gathered, Map<SampleKey, readonly Point[]>>();

/** Means of one channel over the whole seconds of the run; several rules ask for the same, and a run is long. */
export function meansOfRun(g: Gathered, key: SampleKey): readonly Point[] {
  const known = runMeans.get(g) ?? new Map<SampleKey, readonly Point[]>();
  runMeans.set(g, known);
  const means = known.get(key) ?? secondMeans(g.input.samples, key);
  known.set(key, means);
  return means;
}

/** True when this channel gave a value in this run. */
export function hasSeen(g: Gathered, key: SampleKey): boolean {
  return g.driven.live.seen.has(key);
}
