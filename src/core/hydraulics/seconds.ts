import type { Sample } from '../quantity/sample.ts';
import type { Second } from './remark.ts';

const keys = ['flowLpm', 'pressureBar', 'returnC', 'turbidityNtu'] as const;

/**
 * Gathers samples of any rate into seconds, so that the watchers' settings are in seconds whatever the kit's rate.
 * A second is given out when the first sample after it comes: nothing is said of readings not yet in.
 */
export class Seconds {
  private second = Number.NaN;
  private sums = [0, 0, 0, 0];
  private counts = [0, 0, 0, 0];
  private times = 0;
  private samples = 0;

  /** The second just finished, or null while it goes on. */
  take(s: Sample): Second | null {
    const now = Math.floor(s.timeS);
    const done = this.samples > 0 && now !== this.second ? this.finish() : null;
    this.second = now;
    this.samples++;
    this.times += s.timeS;
    for (let i = 0; i < keys.length; i += 1) {
      const v = s[keys[i] ?? 'flowLpm'];
      if (v === null || !Number.isFinite(v)) continue;
      this.sums[i] = (this.sums[i] ?? 0) + v;
      this.counts[i] = (this.counts[i] ?? 0) + 1;
    }
    return done;
  }

  private finish(): Second {
    const mean = (i: number): number | null => {
      const n = this.counts[i] ?? 0;
      return n > 0 ? (this.sums[i] ?? 0) / n : null;
    };
    const done = {
      timeS: this.times / this.samples,
      flowLpm: mean(0),
      pressureBar: mean(1),
      returnC: mean(2),
      turbidityNtu: mean(3),
    };
    this.sums = [0, 0, 0, 0];
    this.counts = [0, 0, 0, 0];
    this.times = 0;
    this.samples = 0;
    return done;
  }
}
