import type { SampleKey } from './channels.ts';
import { type Sample, sampleKeys, sampleOf, valuesInto } from './sample.ts';

/** Means of samples channel by channel, over whatever its holder counts as one span. */
export class ChannelMeans {
  private readonly values = new Float64Array(sampleKeys.length);
  private readonly sums = new Float64Array(sampleKeys.length);
  private readonly counts = new Uint32Array(sampleKeys.length);
  private readonly everGave = new Uint8Array(sampleKeys.length);

  add(sample: Sample): void {
    const { values, sums, counts, everGave } = this;
    valuesInto(sample, values);
    for (let i = 0; i < values.length; i += 1) {
      const value = values[i] ?? Number.NaN;
      if (!Number.isFinite(value)) continue;
      sums[i] = (sums[i] ?? 0) + value;
      counts[i] = (counts[i] ?? 0) + 1;
      everGave[i] = 1;
    }
  }

  /** Channels that have given a value in any span so far. */
  get seen(): ReadonlySet<SampleKey> {
    return new Set(sampleKeys.filter((_, i) => this.everGave[i] === 1));
  }

  /** The means of the span that ends at `timeS`, which is forgotten. */
  close(timeS: number): Sample {
    const { sums, counts } = this;
    // Nothing by nothing is NaN: no value.
    for (let i = 0; i < sums.length; i += 1) sums[i] = (sums[i] ?? 0) / (counts[i] ?? 0);
    const means = sampleOf(timeS, sums);
    sums.fill(0);
    counts.fill(0);
    return means;
  }
}
