import { normalCdf } from '../line/normal.ts';

/**
 * Is the rinse water at mains level? Turbidity at the mains' level and conductivity within a share of the mains', both
 * held for a while, with what they scatter on top. Common practice, no source; check the local standard.
 */
export interface MainsSettings {
  /** Turbidity over the mains' that still counts as mains level, NTU, or this share of it, whichever is more. */
  readonly rinseNtu: number;
  /** Share of the mains' conductivity (and turbidity) that still counts. */
  readonly rinseShare: number;
}

/** Mains water as a run's context holds it, with what its user set for the rinse. */
export interface MainsTold {
  readonly turbidity_ntu: number;
  readonly conductivity_us_cm: number;
  readonly over_ntu?: number | undefined;
  readonly over_share?: number | undefined;
}

/** The settings of the rinse with what this run set in their place. */
export function mainsSettings(mains: MainsTold, usual: MainsSettings): MainsSettings {
  return { rinseNtu: mains.over_ntu ?? usual.rinseNtu, rinseShare: mains.over_share ?? usual.rinseShare };
}

/** Highest turbidity and conductivity that are still the mains'. */
export function mainsLevel(mains: MainsTold, usual: MainsSettings): { readonly ntu: number; readonly usCm: number } {
  const { rinseNtu, rinseShare } = mainsSettings(mains, usual);
  const { turbidity_ntu: ntu, conductivity_us_cm: usCm } = mains;
  return { ntu: ntu + Math.max(rinseNtu, rinseShare * ntu), usCm: usCm * (1 + rinseShare) };
}

export interface RinseSecond {
  readonly endS: number;
  readonly ntu: number;
  readonly conductivityUsCm: number;
  /** Litres that have flowed in the run. */
  readonly litresL: number;
  /** Of the turbidity sensor, NTU. */
  readonly stepNtu: number;
  readonly isUsable: boolean;
}

/** What keeps the water from being said to be the mains'. */
export type RinseHindrance = 'water-to-come' | 'over-mains' | 'too-coarse' | 'seen-briefly';

export class AtMains {
  hindrance: RinseHindrance = 'over-mains';
  /** Probability that the water is at mains level, by the scatter of level and step; null while it is not said. */
  confidence: number | null = null;
  /** Litres that must still flow before the water of the emitter opened last has come. */
  waitL = 0;
  private comesAtL = Number.NEGATIVE_INFINITY;
  clearAtS: number | null = null;
  hasConductivity = false;
  turbidityNtu = Number.NaN;
  conductivityUsCm = Number.NaN;
  private readonly ntu: number[] = [];
  private readonly conductivity: number[] = [];
  private heldS = 0;
  /** When the sight of water at mains level was lost; seconds over which a level is taken now. */
  private lostS = Number.NEGATIVE_INFINITY;
  private windowS = usualS;
  private mains: MainsTold;
  private settings: MainsSettings;
  private readonly usual: MainsSettings;

  constructor(mains: MainsTold, usual: MainsSettings) {
    this.usual = usual;
    this.mains = mains;
    this.settings = mainsSettings(mains, usual);
  }

  /** From now on the mains are known to be so. */
  know(mains: MainsTold): void {
    this.mains = mains;
    this.settings = mainsSettings(mains, this.usual);
  }

  get turbidityLimit(): number {
    return mainsLevel(this.mains, this.settings).ntu;
  }

  get conductivityLimit(): number {
    return mainsLevel(this.mains, this.settings).usCm;
  }

  /**
   * Nobody sees the water: what was said of it does not stand, and what comes is looked at anew; for less long where it was
   * at mains level a moment ago.
   */
  blind(endS: number): void {
    if (this.clearAtS !== null) this.lostS = endS;
    this.leave();
    this.ntu.length = this.conductivity.length = 0;
    this.heldS = 0;
    this.windowS = endS - this.lostS <= briefS ? againS : usualS;
  }

  private leave(): void {
    this.clearAtS = null;
    this.confidence = null;
    this.hindrance = 'over-mains';
    this.windowS = usualS;
  }

  /** Another emitter was opened: old water of its own has come when the run's litres have come to `comesAtL`. */
  opened(comesAtL: number): void {
    this.comesAtL = comesAtL;
    this.lostS = Number.NEGATIVE_INFINITY;
    this.leave();
    this.heldS = 0;
  }

  /**
   * Returns whether the water stands at mains level: from when it is surely there until it has surely left it. Without a conductivity sensor turbidity
   * alone is judged, and must hold for longer: dirt and cleaner leave together, but the chambers catch only the dirt.
   */
  step(second: RinseSecond): boolean {
    if (Number.isFinite(second.conductivityUsCm)) this.hasConductivity = true;
    if (!second.isUsable || !Number.isFinite(second.ntu)) {
      this.heldS = 0;
      return this.clearAtS !== null;
    }
    this.waitL = Math.max(0, this.comesAtL - second.litresL);
    keep(this.ntu, second.ntu);
    if (Number.isFinite(second.conductivityUsCm)) keep(this.conductivity, second.conductivityUsCm);
    const ntu = meanAndSd(this.ntu);
    const conductivity = meanAndSd(this.conductivity);
    this.turbidityNtu = ntu.mean;
    this.conductivityUsCm = conductivity.mean;
    if (this.clearAtS === null) this.arrive(second, ntu, conductivity);
    else this.stay(ntu, conductivity);
    this.confidence = this.clearAtS === null ? null : this.sure(ntu, conductivity, second.stepNtu);
    return this.clearAtS !== null;
  }

  private stay(ntu: Level, conductivity: Level): void {
    // A late slug of system water.
    const isDirty = ntu.mean > this.turbidityLimit + this.settings.rinseNtu;
    if (!isDirty && !(conductivity.mean > this.conductivityLimit * (1 + this.settings.rinseShare / 2))) return;
    this.leave();
  }

  private arrive({ stepNtu, endS }: RinseSecond, ntu: Level, conductivity: Level): void {
    const isIn = (level: Level, values: readonly number[], limit: number): boolean =>
      values.length >= this.windowS && level.mean + sds * level.sd <= limit;
    const isLow =
      isIn(ntu, this.ntu, this.turbidityLimit) &&
      (!this.hasConductivity || isIn(conductivity, this.conductivity, this.conductivityLimit));
    // A reading that moves by one step at most may stand for any level within half a step of its mean.
    const unseenNtu = ntu.sd < ditherShare * stepNtu ? stepNtu / 2 : 0;
    const isSeen = ntu.mean + unseenNtu <= this.turbidityLimit;
    const isHere = isLow && isSeen && this.waitL === 0;
    const isUnder =
      ntu.mean <= this.turbidityLimit && !(this.hasConductivity && conductivity.mean > this.conductivityLimit);
    const over = isUnder && this.ntu.length < this.windowS ? 'seen-briefly' : 'over-mains';
    this.hindrance = isLow && !isSeen ? 'too-coarse' : isLow && !isHere ? 'water-to-come' : over;
    this.heldS = isHere ? this.heldS + 1 : 0;
    if (this.heldS >= (this.hasConductivity ? 1 : aloneS)) this.clearAtS = endS;
  }

  /** That level and step leave the water under its limits, by the normal law. */
  private sure(ntu: Level, conductivity: Level, stepNtu: number): number {
    const below = (limit: number, level: Level, step: number): number =>
      normalCdf((limit - level.mean) / Math.max(1e-9, Math.hypot(levelShare * level.sd, step / Math.sqrt(12))));
    const turbidity = below(this.turbidityLimit, ntu, stepNtu);
    return this.hasConductivity ? turbidity * below(this.conductivityLimit, conductivity, 0) : turbidity;
  }
}

interface Level {
  readonly mean: number;
  readonly sd: number;
}

/** Seconds over which a level is taken; the same after a gap of at most so many in water at mains level; no source. */
const usualS = 16;
const againS = 6;
const briefS = 30;
/** How much of its scatter is added. */
const sds = 0.3;
/** Scatter, in steps of the sensor, from which on readings fill more than two steps, so that their mean tells the level. */
const ditherShare = 0.6;
/** Uncertainty of a level as a share of the scatter in its window: of its seconds, about four tell something of their own. */
const levelShare = 0.5;
/** Seconds that turbidity must hold where it is judged alone. */
const aloneS = 30;

function keep(values: number[], value: number): void {
  values.push(value);
  if (values.length > usualS) values.shift();
}

function meanAndSd(values: readonly number[]): Level {
  if (values.length === 0) return { mean: Number.NaN, sd: Number.NaN };
  let sum = 0;
  for (const v of values) sum += v;
  const mean = sum / values.length;
  let squares = 0;
  for (const v of values) squares += (v - mean) ** 2;
  return { mean, sd: Math.sqrt(squares / values.length) };
}
