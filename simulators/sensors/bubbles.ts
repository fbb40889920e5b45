import type { Random } from '../random.ts';

/**
 * Air in front of the window: short bursts, always upwards, more of them after an opening or a venting and fewer as the
 * air clears. Each burst lasts 0.1 to 1.2 s.
 */
export class Bubbles {
  readonly #random: Random;
  /** Bursts a second at rest. */
  readonly #calmPerS: number;
  #extraPerS = 0;
  #fadeS = 30;
  #startsS = 0;
  #untilS = 0;
  #sizeNtu = 0;
  #lastS = 0;

  constructor(random: Random, calmPerS: number) {
    this.#random = random;
    this.#calmPerS = calmPerS;
  }

  /** Air reaches the sensor after `afterS`; it fades with `fadeS`. */
  stir(nowS: number, afterS: number, perS: number, fadeS: number): void {
    this.#startsS = nowS + afterS;
    this.#extraPerS = perS;
    this.#fadeS = fadeS;
  }

  /** NTU added now. Call with growing times. */
  at(nowS: number): number {
    const dt = Math.max(0, nowS - this.#lastS);
    this.#lastS = nowS;
    if (nowS < this.#untilS) return this.#sizeNtu * this.#random.between(0.5, 1);
    const since = nowS - this.#startsS;
    const perS = this.#calmPerS + (since >= 0 ? this.#extraPerS * Math.exp(-since / this.#fadeS) : 0);
    if (!this.#random.chance(-Math.expm1(-perS * Math.min(dt, 1)))) return 0;
    this.#untilS = nowS + this.#random.between(0.05, 1.2);
    this.#sizeNtu = this.#random.logBetween(8, 500);
    return this.#sizeNtu;
  }
}
