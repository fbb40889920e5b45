import type { Visit } from '../line/verdict.ts';

/** Passes that are still likely to be needed on one emitter, and minutes; a range of 90 %. */
export interface PassesLeft {
  readonly passes: number;
  readonly minutes: number;
  readonly fromMin: number;
  /** Null: the peaks hardly fall, and no end can be told. */
  readonly toMin: number | null;
}

/** Peaks of so many passes back are looked at: what a deposit gives changes with its depth. */
const lookedAt = 6;
const mostPasses = 200;

/**
 * How long an emitter that does not clear will likely take: the peaks of its last passes are taken to fall by a steady
 * share from pass to pass (a straight line through their logarithms), down to the level at which a pass brings nothing.
 * The passes' own pace is kept. Null before three peaks: from two nobody can tell.
 *
 * @param levelNtu the excess under which a pass brings nothing
 */
export function passesLeft(visit: Visit, backgroundNtu: number, levelNtu: number): PassesLeft | null {
  const peaks = visit.pulses
    .flatMap((p) => (p.peakNtu === null ? [] : [p.peakNtu - backgroundNtu]))
    .filter((p) => p > 0)
    .slice(-lookedAt);
  const { passesS } = visit;
  const first = passesS.at(-lookedAt) ?? passesS[0];
  const last = passesS.at(-1);
  if (peaks.length < 3 || first === undefined || last === undefined || !(levelNtu > 0)) return null;
  const taken = Math.min(lookedAt, passesS.length) - 1;
  const everyMin = taken > 0 ? (last - first) / 60 / taken : 0;
  if (!(everyMin > 0)) return null;
  const { slope, u, end } = line(peaks.map(Math.log));
  const toGo = end - Math.log(levelNtu);
  const passesAt = (fall: number): number | null =>
    toGo <= 0 ? 1 : fall > 0 && toGo / fall <= mostPasses ? Math.max(1, Math.ceil(toGo / fall)) : null;
  const spread = 1.645 * u;
  const likely = passesAt(-slope);
  const slow = passesAt(-slope - spread);
  const quick = passesAt(-slope + spread) ?? mostPasses;
  return {
    passes: likely ?? mostPasses,
    minutes: (likely ?? mostPasses) * everyMin,
    fromMin: quick * everyMin,
    toMin: likely === null || slow === null ? null : slow * everyMin,
  };
}

/** Least squares through equally spaced values: fall of one step, its standard error, and the value at the end. */
function line(values: readonly number[]): { slope: number; u: number; end: number } {
  const n = values.length;
  const middle = (n - 1) / 2;
  const mean = values.reduce((a, b) => a + b, 0) / n;
  const sxx = values.reduce((a, _, i) => a + (i - middle) ** 2, 0);
  const slope = values.reduce((a, y, i) => a + (i - middle) * (y - mean), 0) / sxx;
  const rest = values.reduce((a, y, i) => a + (y - mean - slope * (i - middle)) ** 2, 0);
  return { slope, u: Math.sqrt(rest / Math.max(1, n - 2) / sxx), end: mean + slope * middle };
}
