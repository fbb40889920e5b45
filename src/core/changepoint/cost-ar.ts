import type { Cost } from './cost.ts';
import { centred, prefix, requireFinite } from './cost.ts';

/**
 * Change of level, or of level and slope, under noise that remembers: within a segment the values are a mean or a line
 * plus a first-order autoregression with coefficient `phi`, 0 <= phi < 1, known; each segment starts its noise afresh.
 * The cost is the generalised sum of squares, over `variance` of the innovations. Plain least squares at phi = 0.
 *
 * Splitting can cost a little more at the cut (the first value of a segment is held against the stationary law), so
 * pruning by inequality is exact only up to that; `optimal` is exact.
 */
export class ArCost implements Cost {
  readonly n: number;
  readonly least: number;
  readonly parameters: number;
  private readonly x: Float64Array;
  private readonly phi: number;
  private readonly line: boolean;
  private readonly weight: number;
  private readonly sy: Float64Array;
  private readonly syy: Float64Array;
  private readonly svy: Float64Array;
  private readonly sv: Float64Array;
  private readonly svv: Float64Array;

  constructor(values: ArrayLike<number>, shape: 'mean' | 'line', phi: number, variance = 1) {
    requireFinite(values);
    if (!(phi >= 0 && phi < 1)) throw new RangeError(`The noise's memory must lie in 0..1; got ${phi}.`);
    if (!(variance > 0)) throw new RangeError(`The noise variance must be over 0; got ${variance}.`);
    const r = 1 / Math.sqrt(variance);
    const x = centred(values).values.map((v) => v * r);
    const n = x.length;
    this.x = x;
    this.n = n;
    this.phi = phi;
    this.line = shape === 'line';
    this.least = this.line ? 3 : 1;
    this.parameters = this.line ? 2 : 1;
    this.weight = 1 - phi * phi;
    const y = (i: number): number => (i > 0 ? (x[i] ?? 0) - phi * (x[i - 1] ?? 0) : 0);
    const v = (i: number): number => (1 - phi) * this.time(i) + phi;
    this.sy = prefix(n, y);
    this.syy = prefix(n, (i) => y(i) ** 2);
    this.svy = prefix(n, (i) => v(i) * y(i));
    this.sv = prefix(n, v);
    this.svv = prefix(n, (i) => v(i) ** 2);
  }

  private time(i: number): number {
    return i - (this.n - 1) / 2;
  }

  between(from: number, to: number): number {
    const w = this.weight;
    const q = 1 - this.phi;
    const first = this.x[from] as number;
    const f = from + 1;
    const y = (this.sy[to] as number) - (this.sy[f] as number);
    const yy = (this.syy[to] as number) - (this.syy[f] as number) + w * first * first;
    const a11 = w + (to - f) * q * q;
    const b1 = w * first + q * y;
    const level = yy - (b1 * b1) / a11;
    if (!this.line) return level > 0 ? level : 0;
    const t = this.time(from);
    const a12 = w * t + q * ((this.sv[to] as number) - (this.sv[f] as number));
    const a22 = w * t * t + (this.svv[to] as number) - (this.svv[f] as number);
    const b2 = w * t * first + (this.svy[to] as number) - (this.svy[f] as number);
    const spread = a22 - (a12 * a12) / a11;
    const cross = b2 - (a12 * b1) / a11;
    const c = spread > 1e-9 * a22 ? level - (cross * cross) / spread : level;
    return c > 0 ? c : 0;
  }

  fill(starts: Int32Array, count: number, to: number, out: Float64Array): void {
    for (let i = 0; i < count; i++) out[i] = this.between(starts[i] as number, to);
  }
}
