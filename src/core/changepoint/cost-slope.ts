import { type Cost, centred, prefix, requireFinite } from './cost.ts';

/**
 * Change of slope or level: squares about the segment's own least-squares line, over `variance`. The lines of two
 * segments need not meet: each is free (two parameters), which keeps the cost additive and the pruning exact.
 */
export class SlopeCost implements Cost {
  readonly n: number;
  readonly least = 2;
  readonly parameters = 2;
  private readonly s1: Float64Array;
  private readonly s2: Float64Array;
  private readonly st: Float64Array;

  constructor(values: ArrayLike<number>, variance = 1) {
    requireFinite(values);
    if (!(variance > 0)) throw new RangeError(`The noise variance must be over 0; got ${variance}.`);
    const x = centred(values).values;
    const r = 1 / Math.sqrt(variance);
    this.n = x.length;
    // Rows are counted from the middle, so that their products stay small.
    const mid = (this.n - 1) / 2;
    this.s1 = prefix(this.n, (i) => (x[i] ?? 0) * r);
    this.s2 = prefix(this.n, (i) => ((x[i] ?? 0) * r) ** 2);
    this.st = prefix(this.n, (i) => (x[i] ?? 0) * r * (i - mid));
  }

  between(from: number, to: number): number {
    const m = to - from;
    const sum = (this.s1[to] ?? 0) - (this.s1[from] ?? 0);
    const squares = (this.s2[to] ?? 0) - (this.s2[from] ?? 0) - (sum * sum) / m;
    const centre = (from + to - 1) / 2 - (this.n - 1) / 2;
    const cross = (this.st[to] ?? 0) - (this.st[from] ?? 0) - centre * sum;
    const spread = (m * (m * m - 1)) / 12;
    const c = spread > 0 ? squares - (cross * cross) / spread : squares;
    return c > 0 ? c : 0;
  }

  fill(starts: Int32Array, count: number, to: number, out: Float64Array): void {
    for (let i = 0; i < count; i++) out[i] = this.between(starts[i] ?? 0, to);
  }
}
