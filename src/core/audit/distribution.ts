import { quantileOfSorted } from '../quantity/robust.ts';

/** How a figure lies over several runs or visits: its quantiles (Hyndman and Fan 1996, type 7), not one mean alone. */
export interface Distribution {
  readonly n: number;
  readonly least: number;
  readonly q1: number;
  readonly median: number;
  readonly q3: number;
  readonly most: number;
  readonly mean: number;
  /** Standard deviation with n - 1; null for a single value. */
  readonly sd: number | null;
}

/** Null for no value. Values that are no finite numbers are left out. */
export function distributionOf(values: readonly (number | null)[]): Distribution | null {
  const known: number[] = [];
  for (const v of values) if (v !== null && Number.isFinite(v)) known.push(v);
  const sorted = Float64Array.from(known).sort();
  const n = sorted.length;
  if (n === 0) return null;
  const mean = meanOf(known);
  return {
    n,
    least: quantileOfSorted(sorted, 0),
    q1: quantileOfSorted(sorted, 0.25),
    median: quantileOfSorted(sorted, 0.5),
    q3: quantileOfSorted(sorted, 0.75),
    most: quantileOfSorted(sorted, 1),
    mean,
    sd: n < 2 ? null : sdOf(known, mean),
  };
}

export function meanOf(values: readonly number[]): number {
  return values.reduce((a, v) => a + v, 0) / values.length;
}

/** With n - 1. */
export function sdOf(values: readonly number[], mean: number = meanOf(values)): number {
  return Math.sqrt(values.reduce((a, v) => a + (v - mean) ** 2, 0) / (values.length - 1));
}
