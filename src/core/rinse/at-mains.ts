/**
 * Is the rinse water at mains level? Turbidity at the mains' level and conductivity within a share of the mains', both
 * held for a while. Common practice, no source; check the local standard.
 */
export interface MainsSettings {
  readonly rinseNtu: number;
  readonly rinseShare: number;
}

export interface Mains {
  readonly turbidityNtu: number;
  readonly conductivityUsCm: number;
}

export interface RinseSecond {
  readonly endS: number;
  readonly ntu: number;
  readonly conductivityUsCm: number;
  readonly usable: boolean;
}

export class AtMains {
  clearAtS: number | null = null;
  hasConductivity = false;
  turbidityNtu = Number.NaN;
  conductivityUsCm = Number.NaN;
  private readonly ntu: number[] = [];
  private readonly cond: number[] = [];
  private readonly mains: Mains;
  private readonly settings: MainsSettings;

  constructor(mains: Mains, settings: MainsSettings) {
    this.mains = mains;
    this.settings = settings;
  }

  get turbidityLimit(): number {
    return (
      this.mains.turbidityNtu + Math.max(this.settings.rinseNtu, this.settings.rinseShare * this.mains.turbidityNtu)
    );
  }

  get conductivityLimit(): number {
    return this.mains.conductivityUsCm * (1 + this.settings.rinseShare);
  }

  /** Returns whether the water is at mains level now. */
  step(second: RinseSecond): boolean {
    if (Number.isFinite(second.conductivityUsCm)) this.hasConductivity = true;
    if (!second.usable || !Number.isFinite(second.ntu)) return this.clearAtS !== null;
    keep(this.ntu, second.ntu);
    if (Number.isFinite(second.conductivityUsCm)) keep(this.cond, second.conductivityUsCm);
    this.turbidityNtu = mean(this.ntu);
    this.conductivityUsCm = mean(this.cond);
    if (this.ntu.length < held) return false;
    const isClean = this.turbidityNtu <= this.turbidityLimit;
    const isMains = this.cond.length >= held && this.conductivityUsCm <= this.conductivityLimit;
    if (isClean && isMains && this.clearAtS === null) this.clearAtS = second.endS;
    return this.clearAtS !== null;
  }
}

/** Seconds over which the level must hold. */
const held = 10;

function keep(values: number[], value: number): void {
  values.push(value);
  if (values.length > held) values.shift();
}

function mean(values: readonly number[]): number {
  let sum = 0;
  for (const v of values) sum += v;
  return values.length > 0 ? sum / values.length : Number.NaN;
}
