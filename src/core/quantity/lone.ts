import { median, quantileOfSorted } from './robust.ts';

/** So many times what readings move from one to the next, and so many steps of the sensor, is wild. Our own choice. */
const wildMoves = 5;
const wildSteps = 2;
/** Readings on each side that tell the level about one. */
const around = 5;

/**
 * Readings of one channel in time order, NaN where there is none or a lone wild one: one that rises out of those
 * about it far further than readings move here, and that neither neighbour follows half the way. What two readings in
 * turn bear out stays, however short it was. Common practice, no source.
 */
export function withoutLone(readings: ArrayLike<number | null>): Float64Array {
  // A long recording has hundreds of thousands of readings: numbers in a row, and no object for each.
  const out = new Float64Array(readings.length);
  const at = new Int32Array(readings.length);
  const values = new Float64Array(readings.length);
  let count = 0;
  for (let i = 0; i < out.length; i += 1) {
    const value = readings[i] ?? Number.NaN;
    out[i] = value;
    if (!Number.isFinite(value)) continue;
    at[count] = i;
    values[count] = value;
    count += 1;
  }
  const there = values.subarray(0, count);
  const leastWild = wildFrom(there);
  for (let k = 0; k < count; k += 1) {
    const value = there[k] ?? Number.NaN;
    const [before, after] = [there[k - 1], there[k + 1]];
    const off = offBoth(value - (before ?? after ?? value), value - (after ?? before ?? value));
    if (off <= leastWild / 2) continue;
    const level = median([...there.subarray(Math.max(0, k - around), k + around + 1)]);
    const rise = Math.abs(value - level);
    if (rise > leastWild && off > rise / 2) out[at[k] ?? 0] = Number.NaN;
  }
  return out;
}

function wildFrom(values: Float64Array): number {
  const moves = new Float64Array(Math.max(0, values.length - 1));
  for (let k = 0; k < moves.length; k += 1) moves[k] = Math.abs((values[k + 1] ?? 0) - (values[k] ?? 0));
  moves.sort();
  const step = moves.find((move) => move > 0) ?? 0;
  return Math.max(wildMoves * quantileOfSorted(moves, 0.95), wildSteps * step);
}

/** How far a reading stands off the nearer of two neighbours on the same side of it; 0 when it stands between them. */
function offBoth(before: number, after: number): number {
  return Math.sign(before) === Math.sign(after) ? Math.min(Math.abs(before), Math.abs(after)) : 0;
}

export interface Extremes {
  readonly low: number;
  readonly high: number;
}

/** Lowest and highest of these readings; null where there is none (nothing but NaN). */
export function spanOf(readings: Iterable<number>): Extremes | null {
  let [low, high] = [Number.POSITIVE_INFINITY, Number.NEGATIVE_INFINITY];
  for (const value of readings) {
    if (value < low) low = value;
    if (value > high) high = value;
  }
  return low > high ? null : { low, high };
}
