import type { SimulatedRun } from '../../simulators/dataset.ts';
import type { SampleKey } from '../../src/core/quantity/channels.ts';

/** Readings of one channel, missing ones left out. */
export function channelValues(run: SimulatedRun, key: SampleKey): number[] {
  return run.samples.flatMap((s) => s[key] ?? []);
}

/** By how much each value differs from the one before, where it does. */
export function steps(values: readonly number[]): number[] {
  return values.slice(1).flatMap((v, i) => {
    const step = Math.abs(v - (values[i] ?? v));
    return step > 1e-9 ? [step] : [];
  });
}

/** Scatter of single readings where little goes on: the lower quarter of the steps is noise alone. */
export function quietScatter(values: readonly number[]): number {
  const all = steps(values).toSorted((a, b) => a - b);
  // The quarter quantile of the difference of two normal readings is 0.4506 of their scatter.
  return (all[Math.floor(all.length / 4)] ?? 0) / 0.4506;
}
