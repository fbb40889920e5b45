import type { HouseSpec } from './house.ts';

/**
 * Static pressure of a closed system: what is in it over its compliance. Leaks go with the square root of the pressure
 * (orifice); an open filling loop fills towards the mains' reduced pressure; water swells as it warms (about 0.00045 per K
 * near 45 degrees C, from the densities 992.2 at 40 and 983.2 kg/m3 at 60 degrees C).
 */
export class Pressure {
  readonly #litresPerBar: number;
  readonly #startBar: number;
  readonly #openVented: boolean;
  #extraL = 0;
  #swollenL = 0;
  /** Leak at 1 bar, l/min. */
  leakLpm = 0;
  /** Litres a minute that an open filling loop gives per bar of difference, and the pressure behind it. */
  fillingLpmPerBar = 0;
  fillingBar = 3.5;
  static readonly swellPerK = 0.00045;

  constructor(house: HouseSpec) {
    this.#litresPerBar = house.litresPerBar;
    this.#startBar = house.startBar;
    this.#openVented = house.system === 'open-vented';
  }

  /** Gauge, bar. An open-vented system stands at its tank's height. */
  get bar(): number {
    if (this.#openVented) return this.#startBar;
    return Math.max(0, this.#startBar + (this.#extraL + this.#swollenL) / this.#litresPerBar);
  }

  /** `warmingK`: change of the mean water temperature in this step; `contentL`: water in the system. */
  step(dtS: number, warmingK: number, contentL: number): void {
    this.#swollenL += Pressure.swellPerK * warmingK * contentL;
    const minutes = dtS / 60;
    this.#extraL -= this.leakLpm * Math.sqrt(this.bar) * minutes;
    this.#extraL += this.fillingLpmPerBar * Math.max(0, this.fillingBar - this.bar) * minutes;
  }

  /** Litres let out by hand (venting). */
  letOut(litres: number): void {
    this.#extraL -= litres;
  }
}
