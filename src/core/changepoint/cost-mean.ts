import { type Cost, centred, prefix, requireFinite } from './cost.ts';

/** Change of mean, spread common and known: sum of squares about the segment's mean, over `variance`. */
export class MeanCost implements Cost {
  readonly n: number;
  readonly least = 1;
  readonly parameters = 1;
  private readonly s1: Float64Array;
  private readonly s2: Float64Array;
  /** 1 / length: a multiplication costs a fraction of a division in the one loop that matters. */
  private readonly inverse: Float64Array;

  /** @param variance of the noise; 1 leaves plain sums of squares */
  constructor(values: ArrayLike<number>, variance = 1) {
    requireFinite(values);
    if (!(variance > 0)) throw new RangeError(`The noise variance must be over 0; got ${variance}.`);
    const x = centred(values).values;
    const r = 1 / Math.sqrt(variance);
    this.n = x.length;
    this.s1 = prefix(this.n, (i) => (x[i] ?? 0) * r);
    this.s2 = prefix(this.n, (i) => ((x[i] ?? 0) * r) ** 2);
    this.inverse = Float64Array.from({ length: this.n + 1 }, (_, i) => 1 / i);
  }

  between(from: number, to: number): number {
    const d = (this.s1[to] ?? 0) - (this.s1[from] ?? 0);
    const c = (this.s2[to] ?? 0) - (this.s2[from] ?? 0) - (d * d) / (to - from);
    return c > 0 ? c : 0;
  }

  fill(starts: Int32Array, count: number, to: number, out: Float64Array): void {
    const s1 = this.s1;
    const s2 = this.s2;
    const inverse = this.inverse;
    const a = s1[to] ?? 0;
    const b = s2[to] ?? 0;
    for (let i = 0; i < count; i++) {
      const s = starts[i] as number;
      const d = a - (s1[s] as number);
      const c = b - (s2[s] as number) - d * d * (inverse[to - s] as number);
      out[i] = c > 0 ? c : 0;
    }
  }

  sweep(starts: Int32Array, base: Float64Array, count: number, to: number, out: Float64Array): number {
    const { s1, s2, inverse } = this;
    const a = s1[to] ?? 0;
    const b = s2[to] ?? 0;
    let least = Infinity;
    let from = -1;
    for (let i = 0; i < count; i++) {
      const s = starts[i] as number;
      const d = a - (s1[s] as number);
      const c = b - (s2[s] as number) - d * d * (inverse[to - s] as number);
      const sum = (c > 0 ? c : 0) + (base[i] as number);
      out[i] = sum;
      if (sum < least) {
        least = sum;
        from = i;
      }
    }
    return from;
  }
}
