import type { Random } from '../random.ts';

export interface SimpleSpec {
  readonly noise: number;
  readonly noiseShare: number;
  readonly step: number;
  readonly lo: number;
  readonly hi: number;
  /** Below this a flow meter's wheel stands still. */
  readonly dead?: number;
  /** Scale error of this very sensor. */
  readonly gain?: number;
}

/** Flow, pressure, temperature, conductivity: noise, dead band, converter's steps, range. */
export class SimpleSensor {
  readonly spec: SimpleSpec;
  gone = false;
  readonly #random: Random;

  constructor(spec: SimpleSpec, random: Random) {
    this.spec = spec;
    this.#random = random;
  }

  read(value: number): number | null {
    const noise = this.#random.normal();
    if (this.gone) return null;
    const { spec } = this;
    if (spec.dead !== undefined && value < spec.dead) return 0;
    const scaled = value * (spec.gain ?? 1);
    const noisy = scaled + noise * Math.hypot(spec.noise, spec.noiseShare * scaled);
    const stepped = spec.step > 0 ? Math.round(noisy / spec.step) * spec.step : noisy;
    return Math.min(spec.hi, Math.max(spec.lo, stepped));
  }
}
