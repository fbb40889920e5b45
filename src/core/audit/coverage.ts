import { type StageName, stageNames } from '../job/event.ts';
import type { Gathered } from './gather.ts';
import { type Judged, notApplicable } from './rule.ts';

/** Stages that a rig's readings tell of; the others are told by the engineer alone. */
const measured: ReadonlySet<StageName> = new Set(['emitters', 'circulate', 'rinse']);

/** True when the record follows the whole job, and not the work on the emitters and the rinse alone. */
export function tellsWholeJob(g: Gathered): boolean {
  return g.stays.some((s) => s.stage !== 'baseline' && s.stage !== 'end' && !measured.has(s.stage));
}

/** True when the run has gone beyond this stage: a later one or the end was told, or it is a recording that is over. */
export function isPast(g: Gathered, stage: StageName): boolean {
  const { job } = g.driven;
  if (job.stage === 'end' || job.handedOver !== null || g.input.chain === null || g.input.seal !== null) return true;
  return stageNames.slice(stageNames.indexOf(stage) + 1).some((later) => g.stays.some((s) => s.stage === later));
}

/**
 * Why a rule about this stage cannot be held to this run, or null: the record does not follow it, the run has not come
 * so far, or the stage was left out for a reason (which has a rule of its own).
 */
export function stageMissing(g: Gathered, stage: StageName): Judged | null {
  if (g.stays.some((s) => s.stage === stage)) return isPast(g, stage) ? null : notApplicable('under-way');
  if (!measured.has(stage) && !tellsWholeJob(g)) return notApplicable('part-recorded');
  if (!isPast(g, stage)) return notApplicable('not-reached');
  const { status, why } = g.driven.job.course[stage];
  if (status === 'skipped' && why !== '') return notApplicable('stage-skipped-why', { why });
  return measured.has(stage) && !tellsWholeJob(g) ? notApplicable('part-recorded') : null;
}
