import { between } from '../quantity/in-time.ts';
import { type Uncertain, withShare } from '../quantity/interval.ts';
import { remainingCleaner } from '../rinse/remaining.ts';
import type { Span } from './finding.ts';
import { type Gathered } from './gather.ts';

export interface RemainingAtEnd {
  /** Share of the dose; null: it cannot be told. */
  readonly share: Uncertain | null;
  /** Code of the sentence that says why not. */
  readonly because: 'no-conductivity' | 'cleaner-hardly-conducts';
  /** Where the water was looked at, s. */
  readonly span: Span;
}

/** Of the sensor where no certificate says better, a share; as the stages take it. */
const sensorShare = 0.03;
/** Water is looked at for so long, s. */
const lookS = 30;

/**
 * Cleaner still in the water when the rinse was over and before the inhibitor went in, which conducts too: by mixing,
 * between the water just before the rinse and the mains. Null for a run without a rinse.
 */
export function remainingAtEnd(run: Gathered): RemainingAtEnd | null {
  const first = run.stays.find((s) => s.stage === 'rinse');
  const last = run.stays.findLast((s) => s.stage === 'rinse');
  if (!first || !last) return null;
  const inhibitorS = run.driven.job.doses.find((d) => d.what === 'inhibitor' && d.timeS > first.fromS)?.timeS;
  const toS = Math.min(inhibitorS ?? run.endS, last.toS);
  const span: Span = [Math.max(first.fromS, toS - lookS), toS];
  // What page and report say of it is one figure with this.
  const { remaining } = run.driven.worked;
  if (remaining?.share) return { share: remaining.share, because: 'cleaner-hardly-conducts', span };
  const dosed = conductivity(run, [Math.max(0, first.fromS - lookS), first.fromS]);
  const sample = conductivity(run, span);
  if (!dosed || !sample) return { share: null, because: 'no-conductivity', span };
  const mains = withShare(run.driven.context.mains.conductivity_us_cm, sensorShare);
  const { share } = remainingCleaner(sample, dosed, mains);
  return { share, because: 'cleaner-hardly-conducts', span };
}

function conductivity(run: Gathered, [fromS, toS]: Span): Uncertain | null {
  const values = between(run.input.samples, fromS, toS).flatMap((s) =>
    s.conductivityUsCm === null ? [] : [s.conductivityUsCm],
  );
  return values.length === 0 ? null : withShare(values.reduce((a, b) => a + b, 0) / values.length, sensorShare);
}
