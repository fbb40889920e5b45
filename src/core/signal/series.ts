/**
 * The last hour of seconds in rings: time, litres passed, reading, scatter, excess. Bounded memory whatever the length
 * of the run. Indices are counts since the start; `at` folds them into the ring.
 */
export class Series {
  readonly size = 4096;
  private readonly mask = 4095;
  private n = 0;
  readonly t = new Float64Array(this.size);
  readonly litres = new Float64Array(this.size);
  readonly ntu = new Float64Array(this.size);
  readonly sd = new Float64Array(this.size);
  readonly excess = new Float64Array(this.size);
  /** What goes on round the loop: the excess, or what a sensor after the chambers sees of it. */
  readonly source = new Float64Array(this.size);

  get length(): number {
    return this.n;
  }

  get first(): number {
    return Math.max(0, this.n - this.size);
  }

  at(index: number): number {
    return index & this.mask;
  }

  push(t: number, litres: number, ntu: number, sd: number, excess: number): void {
    const k = this.n & this.mask;
    this.t[k] = t;
    this.litres[k] = litres;
    this.ntu[k] = ntu;
    this.sd[k] = sd;
    this.excess[k] = excess;
    this.n += 1;
  }

  get(column: Float64Array, index: number): number {
    return column[index & this.mask] ?? Number.NaN;
  }

  /** Index of the last second whose litres are at most `litres`, or -1 when it is gone or never was. */
  byLitres(litres: number): number {
    let lo = this.first;
    let hi = this.n - 1;
    if (hi < lo || this.get(this.litres, lo) > litres) return -1;
    while (lo < hi) {
      const mid = (lo + hi + 1) >> 1;
      if (this.get(this.litres, mid) <= litres) lo = mid;
      else hi = mid - 1;
    }
    return lo;
  }
}
