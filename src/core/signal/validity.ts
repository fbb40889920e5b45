import type { Sample } from '../quantity/sample.ts';

/** Why readings cannot be believed now; `none` when they can. Codes are those of message/line.ts. */
export type Fault =
  | 'none'
  | 'silence'
  | 'turbidity-missing'
  | 'over-range'
  | 'stuck'
  | 'dark'
  | 'flow-missing'
  | 'no-flow';

export interface ValiditySettings {
  readonly silenceS: number;
  readonly stuckReadings: number;
  readonly minFlowLpm: number;
  readonly noiseFloorNtu: number;
}

/**
 * Watches each reading for what makes a sensor blind: nothing comes, the same number comes for ever, the top of the
 * range, a dark lamp, no flow. A bad reading is kept in the record and never used.
 *
 * A flat trace is judged by its quantisation step: clean water on a coarse converter is flat and healthy. The step is
 * told by the kit's hello or taken as the least difference seen between two readings.
 */
export class Validity {
  private lastS = Number.NaN;
  private lastNtuS = Number.NaN;
  private lastFlowS = Number.NaN;
  private value = Number.NaN;
  private same = 0;
  /** Scatter of a reading when the value last changed: a flat trace must not teach that readings do not scatter. */
  private movedSd = Number.NaN;
  private least = Number.POSITIVE_INFINITY;
  private top = Number.POSITIVE_INFINITY;
  private topSeen = Number.NEGATIVE_INFINITY;
  private topCount = 0;
  private railS = Number.NEGATIVE_INFINITY;
  private darkFromS = Number.NaN;
  private lowFlowFromS = Number.NaN;
  private flowSeen = false;
  private step: number | null = null;
  private readonly settings: ValiditySettings;
  /** Scatter of a single reading in quiet water, NTU; told by the noise estimate. */
  readingSd = 0.5;
  /** Level under which water of this run cannot be: the lamp or the window is gone. 0: cannot be told. */
  darkNtu = 0;

  constructor(settings: ValiditySettings, step: number | null, top: number | null) {
    this.settings = settings;
    this.tell(step, top);
  }

  /** What kit or calibration told of step and top of the range, NTU; null: nothing. */
  tell(step: number | null, top: number | null): void {
    this.step = step !== null && step > 0 ? step : null;
    this.top = top ?? Number.POSITIVE_INFINITY;
  }

  get hasFlow(): boolean {
    return this.flowSeen;
  }

  get stepNtu(): number {
    return this.step ?? (Number.isFinite(this.least) ? this.least : 0);
  }

  /** Returns whether the turbidity of this sample may be used. */
  sample(sample: Sample): boolean {
    this.lastS = sample.timeS;
    this.flow(sample);
    const ntu = sample.turbidityNtu;
    if (ntu === null) return false;
    this.lastNtuS = sample.timeS;
    if (ntu === this.value) this.same += 1;
    else {
      const d = Math.abs(ntu - this.value);
      if (d > 1e-6 && d < this.least) this.least = d;
      this.value = ntu;
      this.same = 1;
      this.movedSd = this.readingSd;
    }
    this.rail(sample.timeS, ntu);
    const isLight = this.seeLight(sample.timeS, ntu);
    return !this.isOver(sample.timeS) && !this.isStuck() && isLight;
  }

  /** What was dark is light again only well over the level of dark: a dead lamp scatters, too. */
  private seeLight(timeS: number, ntu: number): boolean {
    const isLight = ntu >= (Number.isNaN(this.darkFromS) ? 1 : lightAgain) * this.darkNtu;
    if (isLight) this.darkFromS = Number.NaN;
    else if (Number.isNaN(this.darkFromS)) this.darkFromS = timeS;
    return isLight;
  }

  /**
   * The top of the range where nobody told it: the highest number of the run, met again and again to the last digit
   * where real readings would scatter.
   */
  private rail(timeS: number, ntu: number): void {
    if (ntu > this.topSeen) {
      this.topSeen = ntu;
      this.topCount = 0;
    }
    if (ntu === this.topSeen) this.topCount += 1;
    const isRail = this.topCount >= 4 && ntu > 150 && readingShare * ntu > 2 * this.stepNtu;
    if (ntu >= this.top * 0.999 || (isRail && ntu >= this.topSeen)) this.railS = timeS;
  }

  private flow(sample: Sample): void {
    const flow = sample.flowLpm;
    if (flow === null) return;
    this.flowSeen = true;
    this.lastFlowS = sample.timeS;
    if (flow >= this.settings.minFlowLpm) this.lowFlowFromS = Number.NaN;
    else if (Number.isNaN(this.lowFlowFromS)) this.lowFlowFromS = sample.timeS;
  }

  private isOver(nowS: number): boolean {
    return nowS - this.railS < 1;
  }

  private isStuck(): boolean {
    const n = this.settings.stuckReadings;
    if (this.same < n) return false;
    const step = this.stepNtu;
    // What the steps themselves add to the scatter moves no reading out of its step.
    const sd = Math.sqrt(Math.max(0, this.movedSd ** 2 - step ** 2 / 12) + (readingShare * this.value) ** 2);
    // Never a second value: stuck from the start, or a converter coarser than all that has happened yet.
    if (step === 0) return this.same >= 20 * n;
    // Chance that a reading of this scatter falls into the same step as the one before, at best (centred on the step).
    const chance = centralChance(step / (2 * sd));
    return this.same * -Math.log(chance) > 14;
  }

  /** What is wrong at time `nowS`. */
  fault(nowS: number): Fault {
    const { silenceS } = this.settings;
    if (Number.isNaN(this.lastS) || nowS - this.lastS > silenceS) return 'silence';
    if (Number.isNaN(this.lastNtuS) || nowS - this.lastNtuS > silenceS) return 'turbidity-missing';
    if (nowS - this.lowFlowFromS > 2) return 'no-flow';
    if (nowS - this.railS < 2) return 'over-range';
    if (nowS - this.darkFromS > 2) return 'dark';
    if (this.isStuck()) return 'stuck';
    if (this.flowSeen && nowS - this.lastFlowS > silenceS) return 'flow-missing';
    return 'none';
  }
}

/** P(|Z| < a) of a standard normal; upper-bounded away from 1 so that its logarithm can be divided by. */
function centralChance(a: number): number {
  // Abramowitz and Stegun 7.1.26 (|error| < 1.5e-7).
  const x = a / Math.SQRT2;
  const t = 1 / (1 + 0.3275911 * x);
  const poly = t * (0.254829592 + t * (-0.284496736 + t * (1.421413741 + t * (-1.453152027 + t * 1.061405429))));
  return Math.min(0.999999, Math.max(1e-6, 1 - poly * Math.exp(-x * x)));
}

/** A reading over so many times the level of dark is light again. Chosen, no source: that is 15 % of the background. */
const lightAgain = 3;
/** Every turbidity sensor scatters by at least this share of a high reading (usual: 1-4 %). */
const readingShare = 0.01;
