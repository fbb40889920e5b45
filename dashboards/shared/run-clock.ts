/**
 * The run's clock as far as this page can tell: from the last word of the bridge on, by the page's own monotonic clock.
 * So an age goes on growing when the bridge falls silent, from the very last thing that it said.
 */
export class RunClock {
  #timeS = 0;
  #atMs = 0;
  #speed = 1;

  /** All is anew, perhaps another run. */
  restart(timeS: number, nowMs: number): void {
    this.#timeS = timeS;
    this.#atMs = nowMs;
  }

  /** @param speed Run-clock seconds in one real second; other than 1 in a rehearsal only. */
  beat(timeS: number, speed: number, nowMs: number): void {
    this.#speed = speed > 0 ? speed : 1;
    this.restart(timeS, nowMs);
  }

  /** A row from after the estimated now moves it on: its age must not wait until the estimate has caught up. */
  row(timeS: number, nowMs: number): void {
    if (timeS > this.nowS(nowMs)) this.restart(timeS, nowMs);
  }

  nowS(nowMs: number): number {
    return this.#timeS + (this.#speed * Math.max(0, nowMs - this.#atMs)) / 1000;
  }

  /** Real seconds since an instant of the run. */
  ageS(timeS: number, nowMs: number): number {
    return Math.max(0, this.nowS(nowMs) - timeS) / this.#speed;
  }
}
