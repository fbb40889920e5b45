import type { Random } from '../random.ts';
import type { Bubbles } from './bubbles.ts';

export interface TurbiditySpec {
  /** Noise: this much at zero, and this share of the reading. */
  readonly noiseNtu: number;
  readonly noiseShare: number;
  readonly loNtu: number;
  readonly hiNtu: number;
  /** Step of the converter. */
  readonly stepNtu: number;
  /** Time constant of the sensor itself. */
  readonly lagS: number;
  /** Load at which the reading is at its highest; beyond, it falls back. Null: a straight line up to `hiNtu`. */
  readonly foldNtu: number | null;
}

export type TurbidityFault = 'none' | 'stuck' | 'dark' | 'gone';

/**
 * A turbidity sensor in front of true water. Order: lag, curve, fouling, bubbles, noise, range, converter's steps.
 * The folded curve is c / (1 + (c / fold)^2): straight for thin water, highest at `fold` (then half of it), falling
 * beyond. That such sensors fall back is published (Voichick et al., Hydrol. Earth Syst. Sci. 22, 1767, 2018, abstract);
 * the form of the curve is our own.
 */
export class TurbiditySensor {
  readonly spec: TurbiditySpec;
  fault: TurbidityFault = 'none';
  /** Film on the window: NTU a minute, and what has grown. */
  foulingPerMin = 0;
  foulingNtu = 0;
  readonly #random: Random;
  readonly #bubbles: Bubbles | null;
  #slow: number | null = null;
  #lastS = 0;
  #held: number | null = null;

  constructor(spec: TurbiditySpec, random: Random, bubbles: Bubbles | null) {
    this.spec = spec;
    this.#random = random;
    this.#bubbles = bubbles;
  }

  /** The highest reading that this sensor can give. */
  get topNtu(): number {
    return this.spec.foldNtu === null ? this.spec.hiNtu : Math.min(this.spec.hiNtu, this.spec.foldNtu / 2);
  }

  /** True while the water is so dirty that the reading says nothing of it (95 % of the top, or beyond the fold). */
  blindAt(trueNtu: number): boolean {
    if (this.spec.foldNtu !== null && trueNtu > 0.7 * this.spec.foldNtu) return true;
    return trueNtu >= 0.97 * this.spec.hiNtu;
  }

  read(nowS: number, trueNtu: number): number | null {
    const dt = Math.max(0, nowS - this.#lastS);
    this.#lastS = nowS;
    this.#slow =
      this.#slow === null ? trueNtu : this.#slow + (trueNtu - this.#slow) * -Math.expm1(-dt / this.spec.lagS);
    this.foulingNtu = Math.max(0, this.foulingNtu + (this.foulingPerMin * dt) / 60);
    const air = this.#bubbles?.at(nowS) ?? 0;
    const noise = this.#random.normal();
    if (this.fault === 'gone') return null;
    if (this.fault === 'stuck' && this.#held !== null) return this.#held;
    if (this.fault === 'dark') return this.#quantised(0);
    const c = this.#slow;
    const fold = this.spec.foldNtu;
    const shown = fold === null ? c : c / (1 + (c / fold) ** 2);
    const mean = shown + this.foulingNtu + air;
    this.#held = this.#quantised(mean + noise * Math.hypot(this.spec.noiseNtu, this.spec.noiseShare * mean));
    return this.#held;
  }

  #quantised(ntu: number): number {
    const { loNtu, hiNtu, stepNtu } = this.spec;
    const inside = Math.min(hiNtu, Math.max(loNtu, ntu));
    return stepNtu > 0 ? Math.round(inside / stepNtu) * stepNtu : inside;
  }
}
