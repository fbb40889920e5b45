import { ChannelMeans } from '../quantity/channel-means.ts';
import type { Sample } from '../quantity/sample.ts';
import type { Second } from './remark.ts';

/**
 * Gathers samples of any rate into seconds, so that the watchers' settings are in seconds whatever the kit's rate.
 * A second is given out when the first sample after it comes: nothing is said of readings not yet in.
 */
export class Seconds {
  private second = Number.NaN;
  private readonly means = new ChannelMeans();
  private times = 0;
  private samples = 0;

  /** The second just finished, or null while it goes on. */
  take(s: Sample): Second | null {
    const now = Math.floor(s.timeS);
    const done = this.samples > 0 && now !== this.second ? this.finish() : null;
    this.second = now;
    this.samples += 1;
    this.times += s.timeS;
    this.means.add(s);
    return done;
  }

  private finish(): Second {
    const done = this.means.close(this.times / this.samples);
    this.times = 0;
    this.samples = 0;
    return done;
  }
}
