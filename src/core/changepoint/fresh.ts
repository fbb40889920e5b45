import { centred } from './cost.ts';
import { roundingOf } from './still.ts';

/** What each value brings that the one before did not tell; the first against the stationary law. */
export function innovations(x: Float64Array, phi: number): Float64Array {
  const w = Math.sqrt(1 - phi * phi);
  // About the mean: the level must not stand out of the first value alone.
  const about = centred(x).values;
  return about.map((v, i) => (i === 0 ? w * v : v - phi * (about[i - 1] ?? 0)));
}

/** Least spreads believed of innovations: they carry the rounding of two values. */
export function freshFloors(
  columns: readonly Float64Array[],
  fresh: readonly Float64Array[],
  phi: readonly number[],
): number[] {
  return fresh.map((f, j) =>
    Math.max(0.0025 * movesOf(f), (1 + (phi[j] ?? 0) ** 2) * roundingOf(columns[j] ?? f), 1e-300),
  );
}

/**
 * A stretch flatter than a twentieth of the usual noise, or than a converter's step can show, is a sensor's doing, not a
 * regime of its own.
 */
export function spreadFloor(x: Float64Array): number {
  return Math.max(0.0025 * movesOf(x), roundingOf(x), 1e-300);
}

/** Mean square of the moves from row to row. */
function movesOf(x: Float64Array): number {
  let s = 0;
  for (let i = 1; i < x.length; i++) s += ((x[i] ?? 0) - (x[i - 1] ?? 0)) ** 2;
  return s / Math.max(1, x.length);
}
