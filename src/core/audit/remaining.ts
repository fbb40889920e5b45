import { withShare, type Uncertain } from '../quantity/interval.ts';
import { remainingCleaner } from '../rinse/remaining.ts';
import type { Span } from './finding.ts';
import { type Gathered, samplesBetween } from './gather.ts';

export interface RemainingAtEnd {
  /** Share of the dose; null: it cannot be told. */
  readonly share: Uncertain | null;
  /** Code of the sentence that says why not. */
  readonly because: 'no-conductivity' | 'cleaner-hardly-conducts' | 'no-plateau';
  /** Where the water was looked at, s. */
  readonly span: Span;
}

/** Of the sensor where no certificate says better, a share; as the stages take it. */
const sensorShare = 0.03;
/** Water is looked at for so long, s. */
const lookS = 30;

/**
 * Cleaner still in the water when the rinse was over, and before the inhibitor went in, which conducts too. Null where
 * no cleaner was dosed under the eye of the kit.
 */
export function remainingAtEnd(run: Gathered): RemainingAtEnd | null {
  const { live, worked, context, job } = run.driven;
  const inhibitorS = job.doses.find((d) => d.what === 'inhibitor')?.timeS ?? run.endS;
  const rinseEndS = run.stays.findLast((s) => s.stage === 'rinse')?.toS ?? run.endS;
  const toS = Math.min(inhibitorS, rinseEndS);
  const span: Span = [Math.max(0, toS - lookS), toS];
  const values = samplesBetween(run.input.samples, ...span).flatMap((s) =>
    s.conductivityUsCm === null ? [] : [s.conductivityUsCm],
  );
  if (values.length === 0) return { share: null, because: 'no-conductivity', span };
  const step = worked.mixing?.step;
  if (!live.beforeDose || !step) return { share: null, because: 'no-plateau', span };
  const dosed = { value: live.beforeDose.value + step.value, u: Math.hypot(live.beforeDose.u, step.u) };
  const mean = values.reduce((a, b) => a + b, 0) / values.length;
  const mains = withShare(context.mains.conductivity_us_cm, sensorShare);
  const { share } = remainingCleaner(withShare(mean, sensorShare), dosed, mains);
  return { share, because: 'cleaner-hardly-conducts', span };
}
