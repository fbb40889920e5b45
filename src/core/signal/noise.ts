/**
 * Scale of the scatter of one-second readings, learned on line. The model is sd(y)^2 = k^2 (floor^2 + (share y)^2): turbidity
 * scatters by a constant at low load and in proportion at high load, so that asinh(share y / floor) has even spread
 * (the variance-stabilising transform of that law). `k` is learned from second differences, which a front or a tail
 * hardly touches, by a stochastic median (Robbins and Monro 1951), so bursts do not move it.
 */
export class Noise {
  private factor = 2;
  private a = Number.NaN;
  private b = Number.NaN;
  private seen = 0;
  private readonly floorNtu: number;
  private readonly share: number;

  constructor(floorNtu: number, share: number) {
    this.floorNtu = floorNtu;
    this.share = share;
  }

  /** One one-second reading (NaN: none). */
  step(y: number): void {
    const second = (y - 2 * this.b + this.a) / Math.sqrt(6);
    this.a = this.b;
    this.b = y;
    if (!Number.isFinite(second)) return;
    // 0.6745: median of |N(0,1)|.
    const u = Math.abs(second) / 0.6745 / this.base(y);
    this.seen += 1;
    const gain = Math.max(0.02, 1 / (this.seen + 2));
    this.factor *= Math.exp(gain * Math.sign(u - this.factor) * 1.5);
    if (this.factor < 1) this.factor = 1;
    if (this.factor > 30) this.factor = 30;
  }

  private base(y: number): number {
    return Math.hypot(this.floorNtu, this.share * y);
  }

  /** Standard deviation of a one-second reading at level `y`, NTU. */
  sd(y: number): number {
    return this.factor * this.base(y);
  }
}
