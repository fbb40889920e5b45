/** Thrown out so soon after being let in, it is no network fault (seconds). */
const soonS = 5;
/** So many times in a row, and it is no chance either. */
const times = 3;
/** The other one is left in peace for so long before the next try (seconds). */
const yieldS = 30;

/**
 * Two clients with one id throw each other out of a broker for ever. MQTT 5 says so; in 3.1.1 the connection just ends,
 * and only the pattern tells. Once told, this one steps back, so that the two do not fight. Time comes in, seconds.
 */
export class Takeover {
  #inS = Number.NEGATIVE_INFINITY;
  #soon = 0;
  #untilS = Number.NEGATIVE_INFINITY;

  /** No broker was there to be joined: then it is the broker that comes and goes, not another client. */
  notThere(): void {
    this.#soon = 0;
  }

  letIn(nowS: number): void {
    this.#inS = nowS;
  }

  /** The broker ended the connection; `told`: it said that another client took the id. True when that is the cause. */
  thrownOut(told: boolean, nowS: number): boolean {
    this.#soon = nowS - this.#inS < soonS ? this.#soon + 1 : 0;
    if (!told && this.#soon < times) return false;
    this.#soon = 0;
    this.#untilS = nowS + yieldS;
    return true;
  }

  /** Seconds yet to step back; 0 when a try is in order. */
  waitS(nowS: number): number {
    return Math.max(0, this.#untilS - nowS);
  }
}
