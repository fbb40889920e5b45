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
  readonly isUsable: boolean;
}

export class AtMains {
  clearAtS: number | null = null;
  hasConductivity = false;
  turbidityNtu = Number.NaN;
  conductivityUsCm = Number.NaN;
  private readonly ntu: number[] = [];
  private readonly conductivity: number[] = [];
  private heldS = 0;
  private readonly mains: MainsTold;
  private readonly settings: MainsSettings;

  constructor(mains: MainsTold, usual: MainsSettings) {
    this.mains = mains;
    this.settings = mainsSettings(mains, usual);
  }

  get turbidityLimit(): number {
    return mainsLevel(this.mains, this.settings).ntu;
  }

  get conductivityLimit(): number {
    return mainsLevel(this.mains, this.settings).usCm;
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
    keep(this.ntu, second.ntu);
    if (Number.isFinite(second.conductivityUsCm)) keep(this.conductivity, second.conductivityUsCm);
    const ntu = meanAndSd(this.ntu);
    const conductivity = meanAndSd(this.conductivity);
    this.turbidityNtu = ntu.mean;
    this.conductivityUsCm = conductivity.mean;
    if (this.clearAtS !== null) {
      // A late slug of system water.
      const dirty = ntu.mean > this.turbidityLimit + this.settings.rinseNtu;
      if (dirty || conductivity.mean > this.conductivityLimit * (1 + this.settings.rinseShare / 2))
        this.clearAtS = null;
      this.heldS = 0;
      return this.clearAtS !== null;
    }
    const isClean = this.ntu.length >= windowS && ntu.mean + sds * ntu.sd <= this.turbidityLimit;
    const isMains =
      this.conductivity.length >= windowS && conductivity.mean + sds * conductivity.sd <= this.conductivityLimit;
    this.heldS = isClean && (isMains || !this.hasConductivity) ? this.heldS + 1 : 0;
    if (this.heldS >= (this.hasConductivity ? 1 : aloneS)) this.clearAtS = second.endS;
    return this.clearAtS !== null;
  }
}

/** Seconds over which a level is taken, and how much of its scatter is added. */
const windowS = 16;
const sds = 0.3;
/** Seconds that turbidity must hold where it is judged alone. */
const aloneS = 30;

function keep(values: number[], value: number): void {
  values.push(value);
  if (values.length > windowS) values.shift();
}

function meanAndSd(values: readonly number[]): { readonly mean: number; readonly sd: number } {
  if (values.length === 0) return { mean: Number.NaN, sd: Number.NaN };
  let sum = 0;
  for (const v of values) sum += v;
  const mean = sum / values.length;
  let squares = 0;
  for (const v of values) squares += (v - mean) ** 2;
  return { mean, sd: Math.sqrt(squares / values.length) };
}
