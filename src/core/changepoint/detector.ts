/**
 * What every on-line detector is: fed one value at a time, it says at once when the law of the values has changed.
 * Bounded memory and cost per sample; what is said at a sample depends on that sample and earlier ones alone.
 */
export interface Detector {
  /**
   * Take the next value. A value that is not finite is no news: it is counted as a row and otherwise passed over.
   * @param x in the unit of the series
   * @param t run-clock seconds (or any time that does not go back); reported in the change, never used in the statistic
   * @returns the change declared at this value, or null
   */
  step(x: number, t: number): Change | null;
  /** How near to declaring: the statistic over its threshold, 0 while learning, 1 or more at a declaration. */
  readonly level: number;
  /** True once the reference regime is known. */
  readonly ready: boolean;
  /** Forget everything, as new. */
  reset(): void;
}

export type Side = 'up' | 'down' | 'both';

export interface Change {
  readonly direction: 'up' | 'down' | 'either';
  /** Row (counting every call of `step` from 0) and time of the declaration. */
  readonly saidIndex: number;
  readonly saidT: number;
  /** Row and time of the first value of the new regime, as best known at the declaration; at most `saidIndex`. */
  readonly onsetIndex: number;
  readonly onsetT: number;
  /** Statistic over threshold at the declaration. */
  readonly level: number;
}

/** The law of the values while nothing has happened: told, or to be learned from the first values. */
export type Reference =
  | { readonly mean: number; readonly sd: number }
  /** Learn mean and standard deviation from this many finite values; nothing is declared meanwhile. */
  | { readonly samples: number; readonly minSd?: number };

/** Running mean and variance (Welford 1962), stable for any offset. */
export class Moments {
  n = 0;
  mean = 0;
  private m2 = 0;

  add(x: number): void {
    this.n++;
    const d = x - this.mean;
    this.mean += d / this.n;
    this.m2 += d * (x - this.mean);
  }

  /** Unbiased variance; 0 for fewer than two values. */
  get variance(): number {
    return this.n > 1 ? this.m2 / (this.n - 1) : 0;
  }

  get sd(): number {
    return Math.sqrt(this.variance);
  }
}

/** Learns or holds the reference; shared by the detectors. */
export class Regime {
  mean: number;
  sd: number;
  /** Values behind the estimate; Infinity when told. */
  n: number;
  ready: boolean;
  private readonly moments = new Moments();
  private readonly reference: Reference;

  constructor(reference: Reference) {
    this.reference = reference;
    if ('mean' in reference) {
      if (!(reference.sd > 0) || !Number.isFinite(reference.mean))
        throw new RangeError(
          `A reference needs a finite mean and sd > 0; got mean ${reference.mean}, sd ${reference.sd}.`,
        );
      this.mean = reference.mean;
      this.sd = reference.sd;
      this.n = Number.POSITIVE_INFINITY;
      this.ready = true;
      return;
    }
    if (!(reference.samples >= 2))
      throw new RangeError(`A reference needs at least 2 samples; got ${reference.samples}.`);
    this.mean = 0;
    this.sd = 1;
    this.n = 0;
    this.ready = false;
  }

  /** Give one value to the learning; true when that made it ready. */
  learn(x: number): boolean {
    this.moments.add(x);
    if (!('samples' in this.reference) || this.moments.n < this.reference.samples) return false;
    this.mean = this.moments.mean;
    this.n = this.moments.n;
    // A flat reference has no spread of its own; the floor keeps the statistic finite and any move counts as one.
    const floor = this.reference.minSd ?? 1e-12 * Math.max(1, Math.abs(this.mean));
    this.sd = Math.max(this.moments.sd, floor);
    this.ready = true;
    return true;
  }
}
