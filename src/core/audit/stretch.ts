import type { SampleKey } from '../quantity/channels.ts';
import type { Sample } from '../quantity/sample.ts';
import { Seconds } from '../quantity/seconds.ts';
import type { Span } from './finding.ts';

/** A value and when it was, s. */
export interface Point {
  readonly timeS: number;
  readonly value: number;
}

/** A silence of this length parts two stretches, s. */
const apartS = 5;

/** The means of all channels over each second in which a sample came, at its beginning. */
export function secondsOf(samples: readonly Sample[]): Sample[] {
  const seconds = new Seconds('start');
  const out: Sample[] = [];
  for (const sample of samples) {
    const done = seconds.take(sample);
    if (done) out.push(done);
  }
  const last = seconds.finish();
  return last ? [...out, last] : out;
}

/** Of each second what one channel gave; seconds without a value are left out. */
export function pointsOf(seconds: readonly Sample[], key: SampleKey): Point[] {
  const points: Point[] = [];
  for (const second of seconds) {
    const value = second[key];
    if (value !== null) points.push({ timeS: second.timeS, value });
  }
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
