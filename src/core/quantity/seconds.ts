import { ChannelMeans } from './channel-means.ts';
import type { SampleKey } from './channels.ts';
import type { Sample } from './sample.ts';

/** When a second's means are dated: at its beginning, at the mean of its samples' times, or at its end. */
export type SecondDate = 'start' | 'mean' | 'end';

/**
 * Gathers samples of any rate into whole seconds of the run's clock, so that whoever follows them has settings in seconds
 * whatever the kit's rate. A second is given out when the first sample after it comes: nothing is said of readings not
 * yet in. Seconds without a sample are left out.
 */
export class Seconds {
  private readonly dated: SecondDate;
  private second = Number.NaN;
  private readonly means = new ChannelMeans();
  private times = 0;
  private samples = 0;

  constructor(dated: SecondDate) {
    this.dated = dated;
  }

  /** The second just finished, or null while it goes on. */
  take(s: Sample): Sample | null {
    const now = Math.floor(s.timeS);
    const done = now === this.second ? null : this.finish();
    this.second = now;
    this.samples += 1;
    this.times += s.timeS;
    this.means.add(s);
    return done;
  }

  /** The second under way as it stands, or null where none was begun: after the last sample there is no other sign. */
  finish(): Sample | null {
    if (this.samples === 0) return null;
    const done = this.means.close(this.date());
    this.times = 0;
    this.samples = 0;
    return done;
  }

  /** Channels that have given a value in any second so far. */
  get seen(): ReadonlySet<SampleKey> {
    return this.means.seen;
  }

  private date(): number {
    if (this.dated === 'mean') return this.times / this.samples;
    return this.dated === 'start' ? this.second : this.second + 1;
  }
}
