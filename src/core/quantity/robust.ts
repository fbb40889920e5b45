/** Location and scale that a few wild values cannot move. All functions leave their input untouched. */

/** Median of the values; the mean of the middle two for an even count. NaN for none. */
export function median(values: ArrayLike<number>): number {
  return quantile(values, 0.5);
}

/**
 * Quantile by linear interpolation between order statistics (Hyndman and Fan 1996, type 7). NaN for no values.
 * @param p 0..1
 */
export function quantile(values: ArrayLike<number>, p: number): number {
  return quantileOfSorted(new Float64Array(values).sort(), p);
}

/** As `quantile`, of values already in ascending order. */
export function quantileOfSorted(sorted: ArrayLike<number>, p: number): number {
  const n = sorted.length;
  if (n === 0) return Number.NaN;
  const at = p * (n - 1);
  const low = Math.floor(at);
  const a = sorted[low] ?? Number.NaN;
  const b = sorted[Math.min(low + 1, n - 1)] ?? Number.NaN;
  // The guard keeps equal infinities from becoming NaN.
  return a === b ? a : a + (at - low) * (b - a);
}

/** A MAD times this is the standard deviation of Gaussian values: 1 / Phi^-1(3/4). */
export const madToSd = 1.482602218505602;

/** Median absolute deviation from the median, scaled to a standard deviation for Gaussian values. */
export function madSd(values: ArrayLike<number>): number {
  const m = median(values);
  const d = new Float64Array(values.length);
  for (let i = 0; i < d.length; i++) d[i] = Math.abs((values[i] ?? Number.NaN) - m);
  return madToSd * median(d);
}

/**
 * Standard deviation of white noise riding on a slowly moving level, from the spread of first differences: steps of the
 * level touch only a few of them. Where most differences are nought (a coarse converter) their median says nothing, and
 * the mean absolute deviation of the differences, cut at its 95 % quantile, takes its place.
 */
export function noiseSdByDifferences(values: ArrayLike<number>): number {
  const n = values.length - 1;
  if (n < 1) return Number.NaN;
  const d = new Float64Array(n);
  for (let i = 0; i < n; i++) d[i] = (values[i + 1] ?? Number.NaN) - (values[i] ?? Number.NaN);
  const byMad = madSd(d) / Math.SQRT2;
  if (byMad > 0) return byMad;
  const abs = d.map(Math.abs).sort();
  const cap = quantileOfSorted(abs, 0.95);
  let sum = 0;
  for (const a of abs) sum += Math.min(a, cap);
  return ((sum / n) * Math.sqrt(Math.PI / 2)) / Math.SQRT2;
}
