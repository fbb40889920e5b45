import type { Tally } from './tally.ts';

export type BarKey =
  | 'own'
  | 'echo'
  | 'caught'
  | 'slightly'
  | 'worst'
  | 'overclaimed'
  | 'clearsPerPass'
  | 'missed'
  | 'delayMedian'
  | 'delayP90'
  | 'transitsMedian'
  | 'transitsP90'
  | 'recallLow'
  | 'recallTail'
  | 'precision'
  | 'withheldRight'
  | 'withheldWrong'
  | 'rinseFalse'
  | 'rinseMissed'
  | 'rinseDelay'
  | 'named'
  | 'falseNotices';

/** One bar: what it says, the figure reached, and the figure asked for. */
export interface Bar {
  readonly key: BarKey;
  readonly text: string;
  readonly value: number;
  readonly limit: number;
  /** Whether more is better. */
  readonly up: boolean;
  /** Cases behind the figure. */
  readonly n: number;
}

export function share(part: number, whole: number): number {
  return whole > 0 ? (100 * part) / whole : Number.NaN;
}

export function quantile(values: readonly number[], p: number): number {
  const sorted = [...values].sort((a, b) => a - b);
  return sorted.length > 0
    ? (sorted[Math.min(sorted.length - 1, Math.floor(p * sorted.length))] ?? Number.NaN)
    : Number.NaN;
}

/** The bars, over all families; `worst` is the worst family's share of clears that are wrong with the echo counted. */
export function bars(t: Tally, worst: { readonly family: string; readonly percent: number }): Bar[] {
  const bar = (key: BarKey, text: string, value: number, limit: number, n: number, up = false): Bar => ({
    key,
    text,
    value,
    limit,
    up,
    n,
  });
  return [
    bar(
      'own',
      'of the clears shown, wrong (own release not yet gone by, or blind), %',
      share(t.wrongOwn, t.clears),
      3,
      t.clears,
    ),
    bar('echo', 'of the clears shown, wrong with the echo counted, %', share(t.wrongEcho, t.clears), 6, t.clears),
    bar(
      'caught',
      'of the clears shown, wrong if all that the chambers would still catch counted, %',
      share(t.wrongCaught, t.clears),
      Number.NaN,
      t.clears,
    ),
    bar(
      'slightly',
      'of those wrong with the echo, said at most 15 s too early, %',
      share(t.wrongSlightly, t.wrongEcho),
      Number.NaN,
      t.wrongEcho,
    ),
    bar('worst', `worst family, wrong with the echo counted (${worst.family}), %`, worst.percent, 12, t.clears),
    bar(
      'overclaimed',
      'confidence told of the clears that stand at the end, over the share of them that is right, points',
      share(t.toldSum, t.standing) - share(t.standingRight, t.standing),
      2,
      t.standing,
    ),
    bar('clearsPerPass', 'clears per pass', t.clears / t.passes, 1.1, t.passes),
    bar(
      'missed',
      'truly clear with max(45 s, one transit) left and no clear shown, %',
      share(t.missed, t.due),
      8,
      t.due,
    ),
    bar(
      'delayMedian',
      'first right clear after the true moment: median, s',
      quantile(t.delaysS, 0.5),
      20,
      t.delaysS.length,
    ),
    bar('delayP90', 'first right clear after the true moment: p90, s', quantile(t.delaysS, 0.9), 45, t.delaysS.length),
    bar(
      'transitsMedian',
      'the same in transits: median',
      quantile(t.delaysTransits, 0.5),
      Number.NaN,
      t.delaysS.length,
    ),
    bar('transitsP90', 'the same in transits: p90', quantile(t.delaysTransits, 0.9), Number.NaN, t.delaysS.length),
    bar(
      'recallLow',
      'onset recall, level before under 30 % of the peak, %',
      share(t.lowHits, t.lowOnsets),
      95,
      t.lowOnsets,
      true,
    ),
    bar('recallTail', 'onset recall on tails, %', share(t.tailHits, t.tailOnsets), 85, t.tailOnsets, true),
    bar('precision', 'onset precision, %', share(t.pulseHits, t.pulses), 90, t.pulses, true),
    bar(
      'withheldRight',
      '"cannot tell" in visits that deserve it, %',
      share(t.withheldRight, t.mustWithhold),
      90,
      t.mustWithhold,
      true,
    ),
    bar('withheldWrong', '"cannot tell" in others, %', share(t.withheldWrong, t.others), 1, t.others),
    bar('rinseFalse', 'rinse: false "at mains level", count', t.rinseFalse, 0, t.rinses),
    bar('rinseMissed', 'rinse: missed, %', share(t.rinseMissed, t.rinseDue), 5, t.rinseDue),
    bar('rinseDelay', 'rinse: delay median, s', quantile(t.rinseDelaysS, 0.5), 15, t.rinseDelaysS.length),
    bar(
      'named',
      'troubles of flow and pressure named while they last, %',
      share(t.troubles.filter((s) => s.afterS !== null).length, t.troubles.length),
      Number.NaN,
      t.troubles.length,
    ),
    bar(
      'falseNotices',
      'notices of flow and pressure with nothing the matter, in a hundred runs',
      // A judge that names nothing names nothing falsely.
      t.troubles.length > 0 ? share(t.falseNotices.length, t.runs) : Number.NaN,
      Number.NaN,
      t.runs,
    ),
  ];
}

export function holds(bar: Bar): boolean | null {
  if (!Number.isFinite(bar.limit) || !Number.isFinite(bar.value)) return null;
  return bar.up ? bar.value >= bar.limit : bar.value <= bar.limit;
}
