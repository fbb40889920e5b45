/** Rows of a window: enough to show a tail, few enough that it seldom spans two regimes. */
const rowsSeen = 40;

/**
 * How much less a change of spread says in this column than the Gaussian likelihood takes it to say: the variance of a sample
 * variance is (kurtosis - 1) / 2 times what Gauss's law gives (Box 1953), so tails, counts and rare values make spreads that
 * differ by chance. 1 for Gaussian values. The kurtosis is that of short windows, each about its own mean, so that changes
 * of level and spread do not count for tails.
 */
export function spreadDoubt(values: Float64Array): number {
  const n = values.length;
  const windows = Math.max(1, Math.floor(n / rowsSeen));
  let sum = 0;
  let count = 0;
  for (let w = 0; w < windows; w++) {
    const kurtosis = kurtosisOf(values, Math.floor((w * n) / windows), Math.floor(((w + 1) * n) / windows));
    if (kurtosis === null) continue;
    sum += kurtosis;
    count++;
  }
  return count === 0 ? 1 : Math.max(1, (sum / count - 1) / 2);
}

/** Null where nothing moves. */
function kurtosisOf(values: Float64Array, from: number, to: number): number | null {
  const m = to - from;
  let mean = 0;
  for (let i = from; i < to; i++) mean += (values[i] ?? 0) / m;
  let second = 0;
  let fourth = 0;
  for (let i = from; i < to; i++) {
    const squared = ((values[i] ?? 0) - mean) ** 2;
    second += squared / m;
    fourth += squared ** 2 / m;
  }
  return second > 0 && fourth > 0 ? fourth / second ** 2 : null;
}
