import type { SampleKey } from '../quantity/channels.ts';
import type { Sample } from '../quantity/sample.ts';
import type { Span } from './finding.ts';

/** A value and when it was, s. */
export interface Point {
  readonly timeS: number;
  readonly value: number;
}

/** A silence of this length parts two stretches, s. */
const apartS = 5;

/**
 * Means of one channel over whole seconds; seconds without a value are left out.
 * @param ranges of indices of the samples, `[from, to)`; all by default
 */
export function secondMeans(
  samples: readonly Sample[],
  key: SampleKey,
  ranges: readonly (readonly [number, number])[] = [[0, samples.length]],
): Point[] {
  const points: Point[] = [];
  let second = Number.NaN;
  let sum = 0;
  let n = 0;
  const close = (): void => {
    if (n > 0) points.push({ timeS: second, value: sum / n });
    sum = 0;
    n = 0;
  };
  for (const [from, to] of ranges)
    for (let i = from; i < to; i += 1) {
      const sample = samples[i];
      const value = sample?.[key] ?? Number.NaN;
      if (!sample || !Number.isFinite(value)) continue;
      const now = Math.floor(sample.timeS);
      if (now !== second) close();
      second = now;
      sum += value;
      n += 1;
    }
  close();
  return points;
}

/** Stretches of at least `forS` seconds in which every second holds; a break of under five seconds does not part them. */
export function stretches(points: readonly Point[], holds: (value: number) => boolean, forS: number): Span[] {
  const spans: Span[] = [];
  let fromS = Number.NaN;
  let toS = Number.NaN;
  const close = (): void => {
    if (toS - fromS >= forS) spans.push([fromS, toS]);
    fromS = Number.NaN;
  };
  for (const { timeS, value } of points) {
    if (!Number.isNaN(fromS) && timeS - toS > apartS) close();
    if (!holds(value)) continue;
    if (Number.isNaN(fromS)) fromS = timeS;
    toS = timeS + 1;
  }
  if (!Number.isNaN(fromS)) close();
  return spans;
}

export function lengthOf(spans: readonly Span[]): number {
  return spans.reduce((sum, [fromS, toS]) => sum + toS - fromS, 0);
}

/** The parts of `spans` that lie within `windows`. */
export function overlap(spans: readonly Span[], windows: readonly Span[]): Span[] {
  return spans.flatMap(([a, b]) =>
    windows.flatMap(([c, d]): Span[] => (Math.min(b, d) > Math.max(a, c) ? [[Math.max(a, c), Math.min(b, d)]] : [])),
  );
}
