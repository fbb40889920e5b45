import type { Point } from './decimate.ts';

/** A stretch of a trace in figures: what a chart shows, for whoever cannot see it. */
export interface Slice {
  readonly fromS: number;
  readonly toS: number;
  /** Null where there was no value. */
  readonly low: number | null;
  readonly high: number | null;
  readonly last: number | null;
}

/** A trace cut into `count` equal stretches of time, each with its lowest, highest and last value. */
export function slices(points: readonly Point[], fromS: number, toS: number, count: number): Slice[] {
  const step = Math.max(1e-9, (toS - fromS) / count);
  const out: { fromS: number; toS: number; low: number | null; high: number | null; last: number | null }[] =
    Array.from({ length: count }, (_, i) => ({
      fromS: fromS + i * step,
      toS: fromS + (i + 1) * step,
      low: null,
      high: null,
      last: null,
    }));
  for (const [timeS, value] of points) {
    if (value === null || timeS < fromS || timeS > toS) continue;
    const slice = out[Math.min(count - 1, Math.floor((timeS - fromS) / step))];
    if (!slice) continue;
    slice.low = slice.low === null ? value : Math.min(slice.low, value);
    slice.high = slice.high === null ? value : Math.max(slice.high, value);
    slice.last = value;
  }
  return out;
}
