import { logGammaHalfStep } from '../quantity/special.ts';
import { type Change, type Detector, Moments, type Reference, Regime } from './detector.ts';

export interface BocpdSettings {
  readonly reference: Reference;
  /** Expected samples between changes; the hazard is its inverse. Default 1000. */
  readonly meanRun?: number;
  /** Declared when the regime began after the last declaration with at least this probability. Default 0.9. */
  readonly confidence?: number;
  /** Weight of the prior mean of a new regime, in samples: small lets a new mean lie far off. Default 0.02. */
  readonly priorSamples?: number;
  /** Shape of the prior of the variance (inverse gamma): small lets a new spread differ much. Default 1. */
  readonly priorShape?: number;
  /** Run lengths kept at most; the least likely goes first. Default 64. */
  readonly keep?: number;
  /** Run lengths less likely than this are dropped. Default a tenth of the hazard. */
  readonly drop?: number;
}

/**
 * Bayesian on-line change-point detection (Adams and MacKay 2007): a posterior over the length of the current run,
 * values Gaussian with unknown mean and variance (normal-inverse-gamma prior, so the predictive is Student's t),
 * constant hazard, all weights in the log domain. Sees changes of mean and of variance, both ways. Run lengths are
 * pruned, so memory and cost per sample are bounded by `keep`.
 */
export class Bocpd implements Detector {
  level = 0;
  private readonly settings: BocpdSettings;
  private readonly logHazard: number;
  private readonly logStay: number;
  private readonly confidence: number;
  private readonly kappa0: number;
  private readonly alpha0: number;
  private readonly keep: number;
  private readonly logDrop: number;
  private readonly logW: Float64Array;
  private readonly mu: Float64Array;
  private readonly beta: Float64Array;
  /** Values in the run so far, reference included. */
  private readonly runs: Float64Array;
  private readonly startRow: Float64Array;
  private readonly startT: Float64Array;
  private m = 0;
  private regime: Regime;
  private moments = new Moments();
  private index = -1;
  /** Runs that began at this row or earlier belong to the regime last declared. */
  private boundary = -1;

  constructor(settings: BocpdSettings) {
    this.settings = settings;
    const meanRun = settings.meanRun ?? 1000;
    if (!(meanRun > 1)) throw new RangeError(`BOCPD needs a mean run over 1 sample; got ${meanRun}.`);
    this.logHazard = -Math.log(meanRun);
    this.logStay = Math.log1p(-1 / meanRun);
    this.confidence = settings.confidence ?? 0.9;
    this.kappa0 = settings.priorSamples ?? 0.02;
    this.alpha0 = settings.priorShape ?? 1;
    this.keep = settings.keep ?? 64;
    this.logDrop = Math.log(settings.drop ?? 0.1 / meanRun);
    this.logW = new Float64Array(this.keep + 1);
    this.mu = new Float64Array(this.keep + 1);
    this.beta = new Float64Array(this.keep + 1);
    this.runs = new Float64Array(this.keep + 1);
    this.startRow = new Float64Array(this.keep + 1);
    this.startT = new Float64Array(this.keep + 1);
    this.regime = new Regime(settings.reference);
    if (this.regime.ready) this.begin();
  }

  get ready(): boolean {
    return this.regime.ready;
  }

  /** Run lengths held at present. */
  get held(): number {
    return this.m;
  }

  private begin(): void {
    const { n, sd } = this.regime;
    const told = !Number.isFinite(n);
    // A told reference counts as a hundred samples: enough to trust, few enough to let the data speak.
    const count = told ? 100 : n;
    const scatter = told ? 100 * sd * sd : this.moments.variance * (n - 1);
    this.m = 0;
    this.add(0, this.index, Number.NaN);
    this.runs[0] = count;
    this.beta[0] = (this.beta[0] ?? 0) + scatter / 2;
    this.boundary = this.index;
  }

  private add(logW: number, row: number, t: number): void {
    const i = this.m++;
    this.logW[i] = logW;
    this.mu[i] = this.regime.mean;
    this.beta[i] = this.alpha0 * this.regime.sd * this.regime.sd;
    this.runs[i] = 0;
    this.startRow[i] = row;
    this.startT[i] = t;
  }

  step(x: number, t: number): Change | null {
    this.index++;
    if (x - x !== 0) return null;
    if (!this.regime.ready) {
      this.moments.add(x);
      if (this.regime.learn(x)) this.begin();
      return null;
    }
    // The run that may begin with this very value: its weight is the hazard, whatever the others say.
    for (let i = 0; i < this.m; i++) this.logW[i] = (this.logW[i] ?? 0) + this.logStay;
    this.add(this.logHazard, this.index, t);
    this.update(x);
    this.prune();
    return this.judge(t);
  }

  private update(x: number): void {
    let top = -Infinity;
    for (let i = 0; i < this.m; i++) {
      const run = this.runs[i] ?? 0;
      const kappa = this.kappa0 + run;
      const alpha = this.alpha0 + run / 2;
      const beta = this.beta[i] ?? 1;
      const d = x - (this.mu[i] ?? 0);
      const gain = (kappa * d * d) / (2 * (kappa + 1));
      // Student's t with 2 alpha degrees of freedom and scale^2 = beta (kappa + 1) / (alpha kappa).
      const logScale = Math.log((2 * Math.PI * beta * (kappa + 1)) / kappa);
      const w =
        (this.logW[i] ?? 0) + logGammaHalfStep(alpha) - 0.5 * logScale - (alpha + 0.5) * Math.log1p(gain / beta);
      this.logW[i] = w;
      if (w > top) top = w;
      this.mu[i] = (this.mu[i] ?? 0) + d / (kappa + 1);
      this.beta[i] = beta + gain;
      this.runs[i] = run + 1;
    }
    let sum = 0;
    for (let i = 0; i < this.m; i++) sum += Math.exp((this.logW[i] ?? 0) - top);
    const norm = top + Math.log(sum);
    for (let i = 0; i < this.m; i++) this.logW[i] = (this.logW[i] ?? 0) - norm;
  }

  private prune(): void {
    let worst = 0;
    let to = 0;
    for (let i = 0; i < this.m; i++) {
      const w = this.logW[i] ?? 0;
      if (w < this.logDrop) continue;
      this.move(i, to);
      if (w < (this.logW[worst] ?? 0)) worst = to;
      to++;
    }
    this.m = to;
    if (this.m <= this.keep) return;
    for (let i = worst + 1; i < this.m; i++) this.move(i, i - 1);
    this.m--;
  }

  private move(from: number, to: number): void {
    if (from === to) return;
    for (const a of [this.logW, this.mu, this.beta, this.runs, this.startRow, this.startT]) a[to] = a[from] ?? 0;
  }

  private judge(t: number): Change | null {
    let fresh = 0;
    let best = -1;
    let old = -1;
    for (let i = 0; i < this.m; i++) {
      const w = this.logW[i] ?? 0;
      if ((this.startRow[i] ?? 0) > this.boundary) {
        fresh += Math.exp(w);
        if (best < 0 || w > (this.logW[best] ?? 0)) best = i;
      } else if (old < 0 || w > (this.logW[old] ?? 0)) old = i;
    }
    this.level = fresh / this.confidence;
    if (best < 0 || fresh < this.confidence) return null;
    const change: Change = {
      direction: old < 0 ? 'either' : this.directionOf(old, best),
      saidIndex: this.index,
      saidT: t,
      onsetIndex: this.startRow[best] ?? this.index,
      onsetT: this.startT[best] ?? t,
      level: this.level,
    };
    this.forget();
    return change;
  }

  /** The regime that has ended is out of the running. */
  private forget(): void {
    let to = 0;
    for (let i = 0; i < this.m; i++) if ((this.startRow[i] ?? 0) > this.boundary) this.move(i, to++);
    this.m = to;
    this.boundary = this.index;
  }

  private directionOf(old: number, fresh: number): Change['direction'] {
    const shift = (this.mu[fresh] ?? 0) - (this.mu[old] ?? 0);
    const alpha = this.alpha0 + (this.runs[old] ?? 0) / 2;
    const sd = Math.sqrt((this.beta[old] ?? 0) / alpha);
    return Math.abs(shift) < sd ? 'either' : shift > 0 ? 'up' : 'down';
  }

  reset(): void {
    this.regime = new Regime(this.settings.reference);
    this.moments = new Moments();
    this.index = -1;
    this.boundary = -1;
    this.m = 0;
    this.level = 0;
    if (this.regime.ready) this.begin();
  }
}
