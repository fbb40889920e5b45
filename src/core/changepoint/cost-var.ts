import { type Cost, prefix, requireFinite } from './cost.ts';

/**
 * Change of variance about a known, common mean: n ln v + S / v at its best v >= floor. The floor (default a
 * hundred-millionth of the whole variance) keeps a flat stretch from being worth an infinite likelihood.
 */
export class VarCost implements Cost {
  readonly n: number;
  readonly least = 2;
  readonly parameters = 1;
  private readonly floor: number;
  private readonly s2: Float64Array;

  constructor(values: ArrayLike<number>, mean?: number, floor?: number) {
    requireFinite(values);
    this.n = values.length;
    let m = 0;
    for (let i = 0; i < this.n; i++) m += ((values[i] ?? 0) - m) / (i + 1);
    const about = mean ?? m;
    this.s2 = prefix(this.n, (i) => ((values[i] ?? 0) - about) ** 2);
    this.floor = floor ?? varianceFloor((this.s2[this.n] ?? 0) / Math.max(1, this.n));
  }

  between(from: number, to: number): number {
    return likelihood((this.s2[to] ?? 0) - (this.s2[from] ?? 0), to - from, this.floor);
  }

  fill(starts: Int32Array, count: number, to: number, out: Float64Array): void {
    for (let i = 0; i < count; i++) out[i] = this.between(starts[i] ?? 0, to);
  }
}

/** Least variance that counts, from the variance of the whole series; over 0 even for a series that never moves. */
export function varianceFloor(whole: number): number {
  return whole > 0 ? 1e-8 * whole : 1e-300;
}

/** Twice the negative log likelihood of m Gaussian values with sum of squares s, less m ln 2 pi. */
export function likelihood(s: number, m: number, floor: number): number {
  const v = s / m;
  return v > floor ? m * (Math.log(v) + 1) : m * Math.log(floor) + (s > 0 ? s : 0) / floor;
}
