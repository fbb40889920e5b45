import { type Cost, centred, prefix, requireFinite } from './cost.ts';
import { likelihood, varianceFloor } from './cost-var.ts';

/** Change of mean, of variance, or of both: the Gaussian likelihood with both its parameters free in each segment. */
export class MeanVarCost implements Cost {
  readonly n: number;
  readonly least = 2;
  readonly parameters = 2;
  private readonly floor: number;
  private readonly s1: Float64Array;
  private readonly s2: Float64Array;

  constructor(values: ArrayLike<number>, floor?: number) {
    requireFinite(values);
    const x = centred(values).values;
    this.n = x.length;
    this.s1 = prefix(this.n, (i) => x[i] ?? 0);
    this.s2 = prefix(this.n, (i) => (x[i] ?? 0) ** 2);
    this.floor = floor ?? varianceFloor((this.s2[this.n] ?? 0) / Math.max(1, this.n));
  }

  between(from: number, to: number): number {
    const m = to - from;
    const d = (this.s1[to] ?? 0) - (this.s1[from] ?? 0);
    return likelihood((this.s2[to] ?? 0) - (this.s2[from] ?? 0) - (d * d) / m, m, this.floor);
  }

  fill(starts: Int32Array, count: number, to: number, out: Float64Array): void {
    for (let i = 0; i < count; i++) out[i] = this.between(starts[i] ?? 0, to);
  }
}
