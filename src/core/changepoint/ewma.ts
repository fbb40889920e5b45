import { type Change, type Detector, type Reference, Regime, type Side } from './detector.ts';

export interface EwmaSettings {
  readonly reference: Reference;
  /** Weight of the newest value, 0..1. Default 0.2. */
  readonly lambda?: number;
  /** Width of the limits in standard deviations of the average. Default 3. */
  readonly width?: number;
  readonly side?: Side;
}

/**
 * Exponentially weighted moving average chart (Roberts 1959): E = lambda x + (1 - lambda) E from the reference mean,
 * declared outside mean +- width * sd * sqrt(lambda / (2 - lambda)), the steady-state limits. The onset is the value
 * after the average last lay on the other side of the mean. After a declaration the average starts at the mean again.
 */
export class Ewma implements Detector {
  average = Number.NaN;
  level = 0;
  private readonly settings: EwmaSettings;
  private readonly lambda: number;
  private readonly width: number;
  private readonly side: Side;
  private regime: Regime;
  private index = -1;
  private sign = 0;
  private onsetIndex = 0;
  private onsetT = 0;

  constructor(settings: EwmaSettings) {
    this.settings = settings;
    this.lambda = settings.lambda ?? 0.2;
    this.width = settings.width ?? 3;
    this.side = settings.side ?? 'both';
    if (!(this.lambda > 0 && this.lambda <= 1) || !(this.width > 0))
      throw new RangeError(`EWMA needs 0 < lambda <= 1 and width > 0; got lambda ${this.lambda}, width ${this.width}.`);
    this.regime = new Regime(settings.reference);
    if (this.regime.ready) this.average = this.regime.mean;
  }

  get ready(): boolean {
    return this.regime.ready;
  }

  /** Control limits, in the unit of the series; NaN while learning. */
  get limits(): { readonly lower: number; readonly upper: number } {
    const half = this.ready ? this.halfWidth() : Number.NaN;
    return { lower: this.regime.mean - half, upper: this.regime.mean + half };
  }

  private halfWidth(): number {
    return this.width * this.regime.sd * Math.sqrt(this.lambda / (2 - this.lambda));
  }

  step(x: number, t: number): Change | null {
    this.index++;
    if (x - x !== 0) return null;
    const regime = this.regime;
    if (!regime.ready) {
      if (regime.learn(x)) this.average = regime.mean;
      return null;
    }
    this.average += this.lambda * (x - this.average);
    const off = this.average - regime.mean;
    const sign = Math.sign(off);
    if (sign !== this.sign) {
      this.sign = sign;
      this.onsetIndex = this.index;
      this.onsetT = t;
    }
    const seen = this.side === 'both' ? Math.abs(off) : this.side === 'up' ? off : -off;
    this.level = Math.max(0, seen) / this.halfWidth();
    if (this.level <= 1) return null;
    const change: Change = {
      direction: off > 0 ? 'up' : 'down',
      saidIndex: this.index,
      saidT: t,
      onsetIndex: this.onsetIndex,
      onsetT: this.onsetT,
      level: this.level,
    };
    this.average = regime.mean;
    this.sign = 0;
    return change;
  }

  reset(): void {
    this.regime = new Regime(this.settings.reference);
    this.average = this.regime.ready ? this.regime.mean : Number.NaN;
    this.index = -1;
    this.level = 0;
    this.sign = 0;
  }
}
