import { median, quantileOfSorted } from './robust.ts';

/** So many times what readings move from one to the next, and so many steps of the sensor, is wild. Our own choice. */
const wildMoves = 5;
const wildSteps = 2;
/** Readings on each side that tell the level about one. */
const around = 5;

/**
 * Readings of one channel in time order without lone wild ones (`null` in their place): one that rises out of those
 * about it far further than readings move here, and that neither neighbour follows half the way. What two readings in
 * turn bear out stays, however short it was. Common practice, no source.
 */
export function withoutLone(readings: readonly (number | null)[]): (number | null)[] {
  const there = readings.flatMap((value, i) => (value === null || !Number.isFinite(value) ? [] : [{ i, value }]));
  const out = [...readings];
  const leastWild = wildFrom(there.map((r) => r.value));
  for (const [k, { i, value }] of there.entries()) {
    const [before, after] = [there[k - 1]?.value, there[k + 1]?.value];
    const off = offBoth(value - (before ?? after ?? value), value - (after ?? before ?? value));
    if (off <= leastWild / 2) continue;
    const level = median(there.slice(Math.max(0, k - around), k + around + 1).map((r) => r.value));
    const rise = Math.abs(value - level);
    if (rise > leastWild && off > rise / 2) out[i] = null;
  }
  return out;
}

function wildFrom(values: readonly number[]): number {
  const moves = values.slice(1).map((v, k) => Math.abs(v - (values[k] ?? v)));
  const sorted = new Float64Array(moves).sort();
  const step = sorted.find((move) => move > 0) ?? 0;
  return Math.max(wildMoves * quantileOfSorted(sorted, 0.95), wildSteps * step);
}

/** How far a reading stands off the nearer of two neighbours on the same side of it; 0 when it stands between them. */
function offBoth(before: number, after: number): number {
  return Math.sign(before) === Math.sign(after) ? Math.min(Math.abs(before), Math.abs(after)) : 0;
}

export interface Extremes {
  readonly low: number;
  readonly high: number;
}

/** Lowest and highest of these readings; null where there is none. */
export function spanOf(readings: readonly (number | null)[]): Extremes | null {
  let [low, high] = [Number.POSITIVE_INFINITY, Number.NEGATIVE_INFINITY];
  for (const value of readings) {
    if (value === null) continue;
    if (value < low) low = value;
    if (value > high) high = value;
  }
  return low > high ? null : { low, high };
}
