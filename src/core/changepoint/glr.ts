import { type Change, type Detector, type Reference, Regime, type Side } from './detector.ts';

export interface GlrSettings {
  readonly reference: Reference;
  /**
   * Threshold in standard deviations: the greatest standardised mean of a stretch that ends now. The log likelihood
   * ratio is half its square. From a false-alarm budget: `glrThreshold` and `glrThresholdLearned` in arl.ts.
   */
  readonly threshold: number;
  /** Longest stretch looked at, in samples. Default 512. */
  readonly window?: number;
  /** Shortest stretch that may declare: bursts shorter than this cannot. Default 1. */
  readonly least?: number;
  readonly side?: Side;
  /** Values that leave the window refine the reference (mean and spread), so that a short one becomes a good one. */
  readonly grow?: boolean;
  /** After a declaration: hold on to the reference ('same'), or learn the new regime from its onset on ('relearn'). */
  readonly after?: 'same' | 'relearn';
}

/** Stretches looked at: every length up to 10, then steps of about a fifth; between two the statistic hardly differs. */
export function stretchLengths(least: number, window: number): Int32Array {
  const lengths: number[] = [];
  for (let k = least; k <= window; k = k < 10 ? k + 1 : Math.ceil(k * 1.18)) lengths.push(k);
  if (lengths.length > 0 && lengths[lengths.length - 1] !== window) lengths.push(window);
  return Int32Array.from(lengths);
}

/**
 * Window-limited generalised likelihood ratio for a shift of the mean by an unknown amount at an unknown time (Lorden
 * 1971; Willsky and Jones 1976; Siegmund and Venkatraman 1995): over all recent stretches of length k,
 *   max_k |S_k - k m| / (s sqrt(k + k^2 / n)),
 * m and s being mean and standard deviation of the n reference samples (told: n infinite). With a learned s the
 * threshold is widened as the likelihood ratio of Student's t asks, so a short reference does not cry wolf.
 * Cost per sample: about 10 + 6 ln(window / 10) stretches. Memory: three windows of numbers.
 */
export class Glr implements Detector {
  level = 0;
  private readonly settings: GlrSettings;
  private readonly window: number;
  private readonly lengths: Int32Array;
  private readonly weights: Float64Array;
  private readonly upSign: number;
  private readonly downSign: number;
  /** Ring of running sums of standardised values, and the row and time of each. */
  private readonly sums: Float64Array;
  private readonly rows: Float64Array;
  private readonly times: Float64Array;
  private readonly size: number;
  private regime: Regime;
  private index = -1;
  private count = 0;
  /** Reference in standardised units as it grows. */
  private n = 0;
  private weightedN = 0;
  private mean = 0;
  private m2 = 0;
  private scale = 1;
  private bound = 0;

  constructor(settings: GlrSettings) {
    this.settings = settings;
    this.window = settings.window ?? 512;
    const least = settings.least ?? 1;
    if (!(settings.threshold > 0)) throw new RangeError(`GLR needs a threshold > 0; got ${settings.threshold}.`);
    if (!(least >= 1 && this.window >= least))
      throw new RangeError(`GLR needs 1 <= least <= window; got least ${least}, window ${this.window}.`);
    this.lengths = stretchLengths(least, this.window);
    this.weights = new Float64Array(this.lengths.length);
    const side = settings.side ?? 'both';
    this.upSign = side === 'down' ? 0 : 1;
    this.downSign = side === 'up' ? 0 : 1;
    this.size = 2 ** Math.ceil(Math.log2(this.window + 2));
    this.sums = new Float64Array(this.size);
    this.rows = new Float64Array(this.size);
    this.times = new Float64Array(this.size);
    this.regime = new Regime(settings.reference);
    if (this.regime.ready) this.begin();
  }

  get ready(): boolean {
    return this.regime.ready;
  }

  /** Mean and standard deviation of the regime that values are held against, in the unit of the series. */
  get expected(): { readonly mean: number; readonly sd: number } {
    const r = this.regime;
    return { mean: r.mean + r.sd * this.mean, sd: r.sd * this.scale };
  }

  private begin(): void {
    this.n = this.regime.n;
    this.mean = 0;
    this.scale = 1;
    this.m2 = this.n - 1;
    this.clear();
    this.weigh();
  }

  private clear(): void {
    this.count = 0;
    this.sums[0] = 0;
    this.level = 0;
  }

  private weigh(): void {
    const n = this.n;
    this.weightedN = n;
    for (let i = 0; i < this.lengths.length; i++) {
      const k = this.lengths[i] ?? 1;
      this.weights[i] = 1 / (this.scale * Math.sqrt(k + (k * k) / n));
    }
    const b = this.settings.threshold;
    this.bound = Number.isFinite(n) ? Math.sqrt((n - 1) * Math.expm1((b * b) / n)) : b;
  }

  step(x: number, t: number): Change | null {
    this.index++;
    if (x - x !== 0) return null;
    if (!this.regime.ready) {
      if (this.regime.learn(x)) this.begin();
      return null;
    }
    this.push((x - this.regime.mean) / this.regime.sd, this.index, t);
    const mask = this.size - 1;
    const now = this.sums[this.count & mask] ?? 0;
    let high = 0;
    let low = 0;
    const { sums, lengths, weights, count, mean } = this;
    for (let i = 0; i < lengths.length; i++) {
      const k = lengths[i] as number;
      if (k > count) break;
      const z = (now - (sums[(count - k) & mask] as number) - k * mean) * (weights[i] as number);
      if (z > high) high = z;
      else if (z < low) low = z;
    }
    const top = Math.max(high * this.upSign, -low * this.downSign);
    this.level = top / this.bound;
    return top > this.bound ? this.declare(high * this.upSign >= -low * this.downSign, t) : null;
  }

  private push(z: number, row: number, t: number): void {
    const mask = this.size - 1;
    if (this.settings.grow === true && this.count >= this.window) {
      const left = this.count - this.window;
      this.absorb((this.sums[(left + 1) & mask] ?? 0) - (this.sums[left & mask] ?? 0));
    }
    const sum = (this.sums[this.count & mask] ?? 0) + z;
    this.count++;
    this.sums[this.count & mask] = sum;
    this.rows[this.count & mask] = row;
    this.times[this.count & mask] = t;
  }

  private absorb(z: number): void {
    if (!Number.isFinite(this.n)) return;
    this.n++;
    const d = z - this.mean;
    this.mean += d / this.n;
    this.m2 += d * (z - this.mean);
    if (this.n < this.weightedN * 1.02 + 1) return;
    this.scale = Math.sqrt(Math.max(this.m2 / (this.n - 1), 1e-24));
    this.weigh();
  }

  private declare(isUp: boolean, t: number): Change {
    const mask = this.size - 1;
    const now = this.sums[this.count & mask] ?? 0;
    const most = Math.min(this.count, this.window);
    let best = 1;
    let bestZ = -1;
    for (let k = 1; k <= most; k++) {
      const s = now - (this.sums[(this.count - k) & mask] ?? 0) - k * this.mean;
      const z = (isUp ? s : -s) / Math.sqrt(k + (k * k) / this.n);
      if (z > bestZ) {
        bestZ = z;
        best = k;
      }
    }
    const first = (this.count - best + 1) & mask;
    const change: Change = {
      direction: isUp ? 'up' : 'down',
      saidIndex: this.index,
      saidT: t,
      onsetIndex: this.rows[first] ?? this.index,
      onsetT: this.times[first] ?? t,
      level: this.level,
    };
    if (this.settings.after === 'relearn' && 'samples' in this.settings.reference) this.relearn(best);
    else this.clear();
    return change;
  }

  /** The values since the onset are the first of the new reference. */
  private relearn(k: number): void {
    const mask = this.size - 1;
    const old = this.regime;
    const from = this.count - k;
    const values: number[] = [];
    for (let i = from; i < this.count; i++)
      values.push(old.mean + old.sd * ((this.sums[(i + 1) & mask] ?? 0) - (this.sums[i & mask] ?? 0)));
    this.regime = new Regime(this.settings.reference);
    this.clear();
    for (const x of values) if (!this.regime.ready && this.regime.learn(x)) this.begin();
  }

  reset(): void {
    this.regime = new Regime(this.settings.reference);
    this.index = -1;
    this.clear();
    if (this.regime.ready) this.begin();
  }
}
