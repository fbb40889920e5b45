/**
 * The level to which the return settles, carried from stretch to stretch with its uncertainty. It moves only when a
 * stretch of readings has taught it something: never while a release is under way, so a tail cannot lift it.
 */
export class Background {
  ntu = 0;
  known = false;
  private variance = 1e4;
  private atS = 0;
  private recent: number[] = [];
  private readonly driftNtu: number;

  constructor(driftNtu: number) {
    this.driftNtu = driftNtu;
  }

  /** Uncertainty at a time: what was known, and how far it may have drifted since. */
  sd(timeS: number): number {
    const drift = Math.hypot(this.driftNtu, driftShare * this.ntu);
    return Math.sqrt(this.variance + drift * drift * Math.max(0, timeS - this.atS));
  }

  /** A reading before the first visit: the whole system goes round, nothing is being set free. */
  idle(timeS: number, ntu: number): void {
    if (this.known && this.recent.length === 0) return;
    this.recent.push(ntu);
    if (this.recent.length > 60) this.recent.shift();
    if (this.recent.length < 10) return;
    const sorted = [...this.recent].sort((a, b) => a - b);
    const mid = sorted[sorted.length >> 1] ?? ntu;
    const spread = (sorted[(sorted.length * 3) >> 2] ?? mid) - (sorted[sorted.length >> 2] ?? mid);
    this.ntu = mid;
    this.variance = Math.max(0.4 * 0.4, (0.015 * mid) ** 2, (0.3 * spread) ** 2);
    this.atS = timeS;
    this.known = true;
  }

  /** Nothing known before the first visit: the first reading, with little trust. */
  guess(timeS: number, ntu: number): void {
    this.ntu = ntu;
    this.variance = (5 + 0.5 * ntu) ** 2;
    this.atS = timeS;
    this.known = true;
  }

  /** What a stretch of readings taught. */
  learn(timeS: number, ntu: number, sd: number): void {
    this.recent.length = 0;
    this.ntu = ntu;
    this.variance = Math.max(0.3 * 0.3, (0.01 * ntu) ** 2, sd * sd);
    this.atS = timeS;
    this.known = true;
  }
}

/** A high background drifts in proportion: share of it per square root of a second (0.4 % in a minute, 1.2 % in ten). */
const driftShare = 0.0005;
