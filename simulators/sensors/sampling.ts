import type { Sample } from '../../src/core/quantity/sample.ts';
import type { Random } from '../random.ts';

export interface SamplingSpec {
  readonly hz: number;
  /** Spread of a single interval, share of it. */
  readonly jitter: number;
  /** The rate itself wanders between these shares of `hz`. */
  readonly wander: readonly [number, number];
  /** Gaps and restarts of the kit an hour, and the gaps' mean length. */
  readonly gapsPerHour: number;
  readonly gapS: number;
  readonly restartsPerHour: number;
  /** Chance that a row is doubled. */
  readonly doubled: number;
  /** Chance that a single value is missing. */
  readonly missing: number;
}

export const evenSampling: SamplingSpec = {
  hz: 10,
  jitter: 0.02,
  wander: [1, 1],
  gapsPerHour: 0,
  gapS: 10,
  restartsPerHour: 0,
  doubled: 0,
  missing: 0,
};

/** When the kit's rows are taken, and which of them a recording holds twice or not at all. */
export class Sampling {
  readonly spec: SamplingSpec;
  readonly rows: Sample[] = [];
  readonly #random: Random;
  #nextGapS: number;
  #nextRestartS: number;
  #silentUntilS = 0;
  #rate = 1;
  #restarted = false;

  constructor(spec: SamplingSpec, random: Random) {
    this.spec = spec;
    this.#random = random;
    this.#nextGapS = this.#after(0, spec.gapsPerHour);
    this.#nextRestartS = this.#after(0, spec.restartsPerHour);
  }

  /** Seconds until the next reading. */
  wait(): number {
    const { wander, jitter, hz } = this.spec;
    this.#rate = Math.min(wander[1], Math.max(wander[0], this.#rate * Math.exp(0.1 * this.#random.normal())));
    const mean = 1 / (hz * this.#rate);
    return Math.max(0.02, mean * Math.exp(jitter * this.#random.normal()));
  }

  /** Keep a reading, or lose it. */
  take(sample: Sample, linkDown: boolean): void {
    const now = sample.timeS;
    if (now >= this.#nextGapS) {
      this.#silentUntilS = now + Math.min(90, this.#random.waiting(this.spec.gapS) + 1);
      this.#nextGapS = this.#after(this.#silentUntilS, this.spec.gapsPerHour);
    }
    if (now >= this.#nextRestartS) {
      this.#silentUntilS = now + this.#random.between(1.5, 6);
      this.#nextRestartS = this.#after(this.#silentUntilS, this.spec.restartsPerHour);
      this.#restarted = true;
    }
    if (linkDown || now < this.#silentUntilS) return;
    let row = sample;
    if (this.spec.missing > 0 && this.#random.chance(this.spec.missing))
      row = this.#random.chance(0.5) ? { ...row, turbidityNtu: null } : { ...row, flowLpm: null };
    this.rows.push(row);
    if (this.#restarted) this.#repeatLastSecond(now);
    if (this.#random.chance(this.spec.doubled)) this.rows.push({ ...row });
  }

  /** Rows in the order of time; of doubled times the first wins. */
  sorted(): Sample[] {
    const order = this.rows.map((row, i) => ({ row, i })).sort((a, b) => a.row.timeS - b.row.timeS || a.i - b.i);
    return order.map(({ row }) => row).filter((row, i, all) => i === 0 || row.timeS > (all[i - 1]?.timeS ?? -1));
  }

  /** A kit that started again sends its last second once more, a little off: doubled and out of order. */
  #repeatLastSecond(now: number): void {
    this.#restarted = false;
    const before = this.rows.slice(-6, -1);
    for (const row of before) {
      const timeS = Math.round((row.timeS + this.#random.between(0, 0.02)) * 1000) / 1000;
      if (timeS < now) this.rows.push({ ...row, timeS });
    }
  }

  #after(nowS: number, perHour: number): number {
    return perHour > 0 ? nowS + this.#random.waiting(3600 / perHour) : Number.POSITIVE_INFINITY;
  }
}
