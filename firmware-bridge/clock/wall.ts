/** The wall clock said something other than before: from `fromS` on, unix time = `fromS`'s monotonic time + `offsetS`. */
export interface WallStep {
  /** Bridge's monotonic seconds from which this offset holds. */
  readonly fromS: number;
  /** Unix seconds minus monotonic seconds. */
  readonly offsetS: number;
}

/** A difference smaller than this is the slow pull of time keeping, not a leap; it is followed without a remark. */
const leapS = 0.5;

/**
 * Wall clock as an offset to the monotonic one, with its history. Nothing is ever timed by it: when someone sets the
 * clock, the leap is noted, and every duration stays what it was.
 */
export class WallClock {
  readonly #steps: WallStep[] = [];
  #offsetS: number | null = null;

  /** All leaps, the first reading included, oldest first. */
  get history(): readonly WallStep[] {
    return this.#steps;
  }

  /** Note a reading of both clocks, taken together. Returns the leap, or null when there was none. */
  note(monotonicS: number, unixS: number): WallStep | null {
    const offsetS = unixS - monotonicS;
    const before = this.#offsetS;
    this.#offsetS = offsetS;
    if (before !== null && Math.abs(offsetS - before) < leapS) return null;
    const step = { fromS: monotonicS, offsetS };
    this.#steps.push(step);
    return before === null ? null : step;
  }

  /** Unix seconds at a monotonic time, by the offset that held then; by the newest one from its last reading on. */
  unixAt(monotonicS: number): number | null {
    if (this.#offsetS === null) return null;
    const newest = this.#steps[this.#steps.length - 1];
    if (!newest || monotonicS >= newest.fromS) return monotonicS + this.#offsetS;
    const held = this.#steps.findLast((step) => step.fromS <= monotonicS) ?? this.#steps[0];
    return monotonicS + (held?.offsetS ?? this.#offsetS);
  }
}
