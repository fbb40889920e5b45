/**
 * Scatter of a series of readings, learned on line. The model is sd(y)^2 = k^2 (floor^2 + (share y)^2): turbidity scatters
 * by a constant at low load and in proportion at high load, so that asinh(share y / floor) has even spread (the
 * variance-stabilising transform of that law). `k` is learned by a stochastic median (Robbins and Monro 1951) from second
 * differences over `lag` readings: far enough apart that neighbouring readings, which a sensor's own filter and slow
 * eddies make alike, do not pretend to less scatter than there is. Fronts and tails are left out.
 */
export class Noise {
  private factor = 4;
  private seen = 0;
  private readonly last: Float64Array;
  private at = 0;
  private readonly lag: number;
  private readonly floorNtu: number;
  private readonly share: number;

  constructor(floorNtu: number, share: number, lag: number) {
    this.floorNtu = floorNtu;
    this.share = share;
    this.lag = Math.max(1, Math.round(lag));
    this.last = new Float64Array(2 * this.lag).fill(Number.NaN);
  }

  /** One reading (NaN: none). */
  step(y: number): void {
    const { last, lag } = this;
    const a = last[this.at] ?? Number.NaN;
    const b = last[(this.at + lag) % (2 * lag)] ?? Number.NaN;
    last[this.at] = y;
    this.at = (this.at + 1) % (2 * lag);
    const second = (y - 2 * b + a) / Math.sqrt(6);
    if (!Number.isFinite(second)) return;
    const base = this.base(y);
    if (Math.abs(y - a) > 8 * this.factor * base) return;
    // 0.6745: median of |N(0,1)|.
    const u = Math.abs(second) / 0.6745 / base;
    this.seen += 1;
    const gain = Math.max(0.01, 1 / (this.seen + 3));
    this.factor *= Math.exp(gain * Math.sign(u - this.factor) * 1.5);
    this.factor = Math.min(40, Math.max(1, this.factor));
  }

  private base(y: number): number {
    // Asked several times for each reading, and Math.hypot is slow.
    const scaled = this.share * y;
    return Math.sqrt(this.floorNtu * this.floorNtu + scaled * scaled);
  }

  /** Standard deviation of a reading at level `y`, NTU. */
  sd(y: number): number {
    return this.factor * this.base(y);
  }
}
