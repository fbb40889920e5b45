import { c4, rangeFactors, sdFactors } from './control-constants.ts';
import { meanOf, sdOf } from './distribution.ts';

/** A value of the series, or a sample of values, by the name of the run, month or whoever it belongs to. */
export interface ChartInput {
  readonly key: string;
  readonly values: readonly number[];
}

export interface ChartPoint {
  readonly key: string;
  readonly value: number;
  readonly upper: number;
  readonly lower: number;
  /** Outside its limits. */
  readonly out: boolean;
}

/** A control chart: what is usual, its limits, and what stands outside of them. */
export interface ControlChart {
  readonly kind: 'individuals' | 'moving-range' | 'mean' | 'range' | 'sd';
  readonly centre: number;
  readonly points: readonly ChartPoint[];
  readonly source: string;
}

/** Fewer points make limits that say nothing. */
export const leastPoints = 8;

const handbook = 'NIST/SEMATECH e-Handbook of Statistical Methods';

/**
 * Individuals and their moving ranges: limits at the mean +- 3 MR / 1.128, and at 3.267 MR for the ranges, MR being the
 * mean range of neighbours (6.3.2.2). Null for fewer than two values. For a series in the order of time.
 */
export function individualsChart(
  series: readonly ChartInput[],
): { readonly individuals: ControlChart; readonly ranges: ControlChart } | null {
  const points = series.flatMap(({ key, values }) => values.map((value) => ({ key, value })));
  if (points.length < 2) return null;
  const { d2, upper: d4 } = rangeFactors(2);
  const ranges = points.slice(1).map((p, i) => ({ key: p.key, value: Math.abs(p.value - (points[i]?.value ?? 0)) }));
  const centre = meanOf(points.map((p) => p.value));
  const meanRange = meanOf(ranges.map((r) => r.value));
  const half = (3 * meanRange) / d2;
  return {
    individuals: {
      kind: 'individuals',
      centre,
      points: points.map((p) => pointOf(p.key, p.value, centre - half, centre + half)),
      source: `${handbook}, 6.3.2.2`,
    },
    ranges: {
      kind: 'moving-range',
      centre: meanRange,
      points: ranges.map((r) => pointOf(r.key, r.value, 0, d4 * meanRange)),
      source: `${handbook}, 6.3.2.2`,
    },
  };
}

/**
 * Means and ranges of samples of one size, 2 to 10: mean of means +- A2 R, ranges from D3 R to D4 R (6.3.2.1). Null for
 * no sample; a RangeError for samples of several sizes.
 */
export function meanRangeChart(
  samples: readonly ChartInput[],
): { readonly means: ControlChart; readonly spreads: ControlChart } | null {
  const n = samples[0]?.values.length ?? 0;
  if (samples.length === 0) return null;
  if (samples.some((s) => s.values.length !== n)) throw new RangeError('a chart of ranges takes samples of one size');
  const { a2, lower, upper } = rangeFactors(n);
  const rangeOf = (values: readonly number[]): number => Math.max(...values) - Math.min(...values);
  const centre = meanOf(samples.map((s) => meanOf(s.values)));
  const range = meanOf(samples.map((s) => rangeOf(s.values)));
  const source = `${handbook}, 6.3.2.1`;
  return {
    means: {
      kind: 'mean',
      centre,
      points: samples.map((s) => pointOf(s.key, meanOf(s.values), centre - a2 * range, centre + a2 * range)),
      source,
    },
    spreads: {
      kind: 'range',
      centre: range,
      points: samples.map((s) => pointOf(s.key, rangeOf(s.values), lower * range, upper * range)),
      source,
    },
  };
}

/**
 * Means and standard deviations of samples of any size from two on (6.3.2.1); limits are wider where a sample is
 * smaller. The spread within samples is the mean of s / c4, weighted by size less one. Null for no sample.
 */
export function meanSdChart(
  samples: readonly ChartInput[],
): { readonly means: ControlChart; readonly spreads: ControlChart } | null {
  const used = samples.filter((s) => s.values.length >= 2);
  if (used.length === 0) return null;
  const total = used.reduce((a, s) => a + s.values.length, 0);
  const centre = used.reduce((a, s) => a + s.values.length * meanOf(s.values), 0) / total;
  const sigma =
    used.reduce((a, s) => a + ((s.values.length - 1) * sdOf(s.values)) / c4(s.values.length), 0) /
    (total - used.length);
  const source = `${handbook}, 6.3.2.1`;
  return {
    means: {
      kind: 'mean',
      centre,
      points: used.map((s) => {
        const half = (3 * sigma) / Math.sqrt(s.values.length);
        return pointOf(s.key, meanOf(s.values), centre - half, centre + half);
      }),
      source,
    },
    spreads: {
      kind: 'sd',
      centre: sigma,
      points: used.map((s) => {
        const n = s.values.length;
        const { lower, upper } = sdFactors(n);
        return pointOf(s.key, sdOf(s.values), lower * c4(n) * sigma, upper * c4(n) * sigma);
      }),
      source,
    },
  };
}

function pointOf(key: string, value: number, lower: number, upper: number): ChartPoint {
  // A series without any spread has limits of no width: a last bit of rounding is no signal.
  const room = 1e-9 * Math.max(Math.abs(lower), Math.abs(upper), Math.abs(value));
  return { key, value, lower, upper, out: value > upper + room || value < lower - room };
}
