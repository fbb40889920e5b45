import { type Change, type Detector, type Reference, Regime, type Side } from './detector.ts';

export interface CusumSettings {
  readonly reference: Reference;
  /** Allowance, in standard deviations of the reference: half the least shift that matters. Default 0.5. */
  readonly k?: number;
  /** Decision interval, in standard deviations. From a false-alarm budget: `cusumThreshold` in arl.ts. */
  readonly h: number;
  readonly side?: Side;
  /** Head start, in standard deviations (Lucas and Crosier 1982), given at the start and after each declaration. */
  readonly headStart?: number;
}

/**
 * Two-sided tabular cumulative sum (Page 1954): S+ = max(0, S+ + z - k), S- = max(0, S- - z - k), declared when one is
 * over h, z being the value less the reference mean, in standard deviations. The onset is the value after the sum was
 * last nought. After a declaration both sums start again against the same reference. Constant memory and cost.
 */
export class Cusum implements Detector {
  upper = 0;
  lower = 0;
  level = 0;
  private readonly settings: CusumSettings;
  private readonly k: number;
  private readonly h: number;
  private readonly up: boolean;
  private readonly down: boolean;
  private regime: Regime;
  private index = -1;
  private upIndex = 0;
  private upT = 0;
  private downIndex = 0;
  private downT = 0;

  constructor(settings: CusumSettings) {
    this.settings = settings;
    this.k = settings.k ?? 0.5;
    this.h = settings.h;
    if (!(this.h > 0) || !(this.k >= 0))
      throw new RangeError(`CUSUM needs h > 0 and k >= 0; got h ${this.h}, k ${this.k}.`);
    const side = settings.side ?? 'both';
    this.up = side !== 'down';
    this.down = side !== 'up';
    this.regime = new Regime(settings.reference);
    this.restart();
  }

  get ready(): boolean {
    return this.regime.ready;
  }

  step(x: number, t: number): Change | null {
    this.index++;
    // x - x is 0 for every finite number and NaN otherwise: the cheapest test there is.
    if (x - x !== 0) return null;
    const regime = this.regime;
    if (!regime.ready) {
      regime.learn(x);
      return null;
    }
    const z = (x - regime.mean) / regime.sd;
    if (this.upper <= 0) {
      this.upIndex = this.index;
      this.upT = t;
    }
    if (this.lower <= 0) {
      this.downIndex = this.index;
      this.downT = t;
    }
    this.upper = Math.max(0, this.upper + z - this.k);
    this.lower = Math.max(0, this.lower - z - this.k);
    const top = Math.max(this.up ? this.upper : 0, this.down ? this.lower : 0);
    this.level = top / this.h;
    return top > this.h ? this.declare(t) : null;
  }

  private declare(t: number): Change {
    const isUp = this.up && (!this.down || this.upper >= this.lower);
    const change: Change = {
      direction: isUp ? 'up' : 'down',
      saidIndex: this.index,
      saidT: t,
      onsetIndex: isUp ? this.upIndex : this.downIndex,
      onsetT: isUp ? this.upT : this.downT,
      level: this.level,
    };
    this.restart();
    return change;
  }

  private restart(): void {
    this.upper = this.settings.headStart ?? 0;
    this.lower = this.settings.headStart ?? 0;
    this.upIndex = this.index + 1;
    this.downIndex = this.index + 1;
    this.upT = Number.NaN;
    this.downT = Number.NaN;
  }

  reset(): void {
    this.regime = new Regime(this.settings.reference);
    this.index = -1;
    this.level = 0;
    this.restart();
  }
}
