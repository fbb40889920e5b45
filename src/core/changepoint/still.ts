import { median, noiseSdByDifferences } from '../quantity/robust.ts';

/** Noise of a column, whether it always moves or seldom. 0 where it never does. */
export function noiseOf(x: Float64Array): number {
  return stillSd(x) || noiseSdByDifferences(x) || sharedOut(x, movesOf(x));
}

/**
 * Noise of a column that stands still most of the time (a coarse sensor's, a setting, rare counts), 0 for any other: its
 * usual move, shared out over all its rows. Where moves are rare each may be a change; where they are many, or taken back at once,
 * they are how the column is.
 */
export function stillSd(x: Float64Array): number {
  const n = x.length - 1;
  const at = movesOf(x);
  if (2 * at.length >= n) return 0;
  const loose = at.length < fewMoves ? at.filter((row, i) => isBrief(at[i - 1] ?? 0, row, at[i + 1] ?? n + 1)) : at;
  return sharedOut(x, loose);
}

/** The usual of these moves, shared out over all rows; 0 where there are none. */
function sharedOut(x: Float64Array, moves: readonly number[]): number {
  return moves.length === 0 ? 0 : median(sizesOf(x, moves)) * Math.sqrt(moves.length / (2 * (x.length - 1)));
}

function sizesOf(x: Float64Array, moves: readonly number[]): Float64Array {
  return Float64Array.from(moves, (row) => Math.abs((x[row] ?? 0) - (x[row - 1] ?? 0)));
}

/** Rows that differ from the one before. */
function movesOf(x: Float64Array): number[] {
  const rows: number[] = [];
  for (let i = 1; i < x.length; i++) if (x[i] !== x[i - 1]) rows.push(i);
  return rows;
}

/** A move between two stands of which one is too short to be a level. */
function isBrief(before: number, row: number, after: number): boolean {
  return Math.min(row - before, after - row) < leastStand;
}

/** One or two values that stand off are a spike (`withoutSpikes`). */
const leastStand = 3;

/** Variance of the noise that no cut may explain away in a column that stands still most of the time: less a quarter, being an estimate. */
export function stillFloor(x: Float64Array): number {
  return Math.max(0.75 * stillSd(x) ** 2, creeps(x) ? roundingOf(x) : 0);
}

/** So many moves are a habit. */
const fewMoves = 8;

/**
 * Whether a column that stands still most of the time moves by its least step nearly always, again and again: a coarse sensor that
 * follows something smooth. Its steps are the sensor's, while those of a setting are few, or of several sizes.
 */
function creeps(x: Float64Array): boolean {
  const moves = sizesOf(x, movesOf(x));
  const step = 1.5 * stepOf(x);
  return (
    moves.length >= fewMoves &&
    2 * moves.length < x.length &&
    moves.filter((v) => v < step).length >= 0.9 * moves.length
  );
}

/** Variance of rounding to the least difference between two values. */
export function roundingOf(x: Float64Array): number {
  const step = stepOf(x);
  return Number.isFinite(step) ? (step * step) / 12 : 0;
}

/** The least difference between two values: a coarse converter's step. Infinite where all are alike. */
function stepOf(x: Float64Array): number {
  const sorted = x.slice().sort();
  let step = Number.POSITIVE_INFINITY;
  for (let i = 1; i < sorted.length; i++) {
    const d = (sorted[i] ?? 0) - (sorted[i - 1] ?? 0);
    if (d > 0 && d < step) step = d;
  }
  return step;
}
