/** So much at once, and so much a second after it. */
export interface Rate {
  readonly burst: number;
  readonly perS: number;
}

/** Counters kept at most; a full one is as good as none, so that forgetting it changes nothing. */
const mostKeys = 4096;
/** What a rounding of the arithmetic may cost (seconds). */
const slackS = 1e-6;

/**
 * One token bucket for each key, as the generic cell rate algorithm: only the time at which a bucket is full again is
 * kept (ITU-T I.371; from memory). No key costs another anything.
 */
export class Buckets {
  readonly #rate: Rate;
  readonly #fullAtS = new Map<string, number>();

  constructor(rate: Rate) {
    this.#rate = rate;
  }

  /**
   * Takes one. Returns 0, or the seconds to wait until there is one again; a refusal takes nothing.
   * @param nowS Of a clock that never goes back.
   */
  take(key: string, nowS: number): number {
    const { burst, perS } = this.#rate;
    const fullAtS = Math.max(nowS, this.#fullAtS.get(key) ?? nowS);
    const waitS = fullAtS - nowS - (burst - 1) / perS;
    if (waitS > slackS) return waitS;
    // The newest use goes last, so that what is forgotten first is what was used longest ago.
    this.#fullAtS.delete(key);
    this.#fullAtS.set(key, fullAtS + 1 / perS);
    if (this.#fullAtS.size > mostKeys) this.#forget(nowS);
    return 0;
  }

  get keys(): number {
    return this.#fullAtS.size;
  }

  #forget(nowS: number): void {
    for (const [key, fullAtS] of this.#fullAtS) if (fullAtS <= nowS) this.#fullAtS.delete(key);
    for (const key of this.#fullAtS.keys()) {
      if (this.#fullAtS.size <= mostKeys / 2) break;
      this.#fullAtS.delete(key);
    }
  }
}
