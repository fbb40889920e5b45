import type { Curve } from './curve.ts';
import { FitError } from './fit.ts';
import { litresByWeighing } from './flow-factor.ts';
import { bucketFault } from './given.ts';
import { independent, meanOf, propagate } from './propagate.ts';

/** One filling of a bucket on a scale, while the kit counted litres by its own factor. */
export interface Bucket {
  /** Net reading of the scale, kg. */
  readonly massKg: number;
  readonly uMassKg: number;
  readonly waterC: number;
  /** Litres by the kit: its flow integrated over the filling. */
  readonly kitL: number;
  /** Mean flow by the kit during the filling, l/min. */
  readonly kitLpm: number;
}

export interface BucketFit {
  readonly curve: Curve;
  /** True litres for one litre by the kit, of each bucket. */
  readonly ratios: readonly number[];
  /** True flow by the bucket and flow by the curve, l/min, of each. */
  readonly residuals: readonly number[];
  readonly trueLpm: readonly number[];
}

/**
 * Flow by bucket and scale, as a factor on the kit's own litres: works with any meter, whatever its pulses. The
 * uncertainty joins the scale and 0.5 % of a litre for starting and stopping by hand (common practice, no source), and from two
 * buckets on the spread between them, whichever is larger. Throws FitError.
 */
export function fitBuckets(buckets: readonly Bucket[]): BucketFit {
  if (buckets.length === 0) throw new FitError('No bucket was measured. Fill one on the scale first.');
  const parts = buckets.map((bucket) => {
    const fault = bucketFault(bucket);
    if (fault !== null) throw new FitError(fault);
    if (!(bucket.kitL > 0) || !(bucket.kitLpm > 0))
      throw new FitError(
        `A bucket with ${bucket.kitL} l at ${bucket.kitLpm} l/min by the kit cannot be used: both must be above zero. Check the flow meter.`,
      );
    const inputs = [
      { value: bucket.massKg, u: bucket.uMassKg },
      { value: bucket.kitL, u: 0.005 },
    ];
    const { values, u } = propagate(
      ([mass = 0, kit = 0]) => [litresByWeighing(mass, bucket.waterC) / kit],
      inputs.map((i) => i.value),
      independent(inputs),
    );
    return { ratio: values[0] ?? Number.NaN, u: u[0] ?? Number.NaN };
  });
  const ratios = parts.map((p) => p.ratio);
  const b = ratios.reduce((sum, r) => sum + r, 0) / ratios.length;
  if (b < 0.2 || b > 5)
    throw new FitError(
      `The scale says ${b.toFixed(2)} times the litres of the kit: that is no calibration but a mistake. Check mass (kg, without the bucket), and the pulses a litre that the firmware is set to.`,
    );
  const wide = ratios.findIndex((r) => Math.abs(r / b - 1) > 0.1);
  if (wide >= 0)
    throw new FitError(
      `Bucket ${wide + 1} is ${((100 * (ratios[wide] ?? 0)) / b - 100).toFixed(0)} % off the mean of all. Fill it again; keep the flow steady, and let no water run past the meter.`,
    );
  const stated = Math.sqrt(parts.reduce((sum, p) => sum + p.u ** 2, 0)) / parts.length;
  const u = Math.max(stated, ratios.length > 1 ? meanOf(ratios).u : 0);
  const flows = buckets.map((bucket) => bucket.kitLpm);
  const trueLpm = buckets.map((bucket, i) => bucket.kitLpm * (ratios[i] ?? 1));
  return {
    curve: {
      kind: 'line',
      a: 0,
      b,
      covariance: [0, 0, u * u],
      // One factor serves from half the slowest to twice the fastest filling.
      fromRaw: Math.min(...flows) / 2,
      toRaw: Math.max(...flows) * 2,
    },
    ratios,
    residuals: flows.map((flow, i) => b * flow - (trueLpm[i] ?? 0)),
    trueLpm,
  };
}
