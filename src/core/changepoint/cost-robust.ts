import { type Cost, centred, requireFinite } from './cost.ts';

/**
 * Change of mean with wild values about: the biweight loss min((x - m)^2, cap^2) / variance at its best m (Fearnhead
 * and Rigaill 2019). One evaluation sorts the segment's values, so this form serves short tables and as the oracle;
 * `fpop` with the same cap gives the same answer on long ones.
 */
export class RobustCost implements Cost {
  readonly n: number;
  readonly least = 1;
  readonly parameters = 1;
  private readonly x: Float64Array;
  private readonly cap: number;
  private readonly variance: number;

  /** @param cap distance from the mean beyond which a value counts no more, in the unit of the values; 3 sd is usual */
  constructor(values: ArrayLike<number>, cap: number, variance = 1) {
    requireFinite(values);
    if (!(cap > 0) || !(variance > 0))
      throw new RangeError(`Cap and variance must be over 0; got ${cap} and ${variance}.`);
    this.x = centred(values).values;
    this.n = this.x.length;
    this.cap = cap;
    this.variance = variance;
  }

  between(from: number, to: number): number {
    const v = this.x.slice(from, to).sort();
    const m = v.length;
    const worst = this.cap * this.cap;
    // Between two edges x - cap, x + cap the counted set is fixed, and is a run of the sorted values: try each run at
    // its own mean. The mean may lie outside the run's own reach; the sum is then too high, never too low.
    let best = m * worst;
    let high = 0;
    let s1 = 0;
    let s2 = 0;
    const tryRun = (count: number): void => {
      if (count <= 0) return;
      const c = s2 - (s1 * s1) / count + (m - count) * worst;
      if (c < best) best = c;
    };
    for (let low = 0; low < m; low++) {
      const floor = v[low] ?? 0;
      while (high < m && (v[high] ?? 0) - floor <= 2 * this.cap) {
        const x = v[high] ?? 0;
        s1 += x;
        s2 += x * x;
        high++;
        tryRun(high - low);
      }
      s1 -= floor;
      s2 -= floor * floor;
      tryRun(high - low - 1);
    }
    return Math.max(0, best) / this.variance;
  }

  fill(starts: Int32Array, count: number, to: number, out: Float64Array): void {
    for (let i = 0; i < count; i++) out[i] = this.between(starts[i] ?? 0, to);
  }
}
