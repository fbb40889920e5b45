import type { Series } from '../signal/series.ts';

/** A level and its standard deviation, NTU. */
export interface Level {
  readonly ntu: number;
  readonly sd: number;
}

/** Mean of the last `count` seconds that were seen up to index `to`, and its scatter; NaN where there are none. */
export function levelAt(series: Series, to: number, count: number): Level {
  let sum = 0;
  let variance = 0;
  let n = 0;
  for (let i = to; i >= series.first && n < count; i -= 1) {
    const y = series.get(series.ntu, i);
    if (Number.isNaN(y)) continue;
    sum += y;
    variance += series.get(series.sd, i) ** 2;
    n += 1;
  }
  return { ntu: sum / n, sd: (likeness * Math.sqrt(variance)) / n };
}

/**
 * The last `count` seconds that were seen since `from`; null where there are too few, or where they climb: a line that comes out
 * of the dip of settled water has stood nowhere.
 */
export function lowStand(series: Series, from: number, count: number): Level | null {
  const to = series.length - 1;
  const quarter = Math.floor(count / 4);
  if (to - from < count + 2) return null;
  const early = levelAt(series, to - count + 1 + quarter, quarter + 1);
  const late = levelAt(series, to, quarter + 1);
  const climbs = late.ntu - early.ntu > Math.hypot(late.sd, early.sd);
  const low = levelAt(series, to, count);
  return climbs || Number.isNaN(low.ntu) ? null : low;
}

/** The highest of the seconds `from..to` (indices, inclusive) that were seen; null where none was. */
export function highestOf(
  series: Series,
  from: number,
  to: number,
): { readonly timeS: number; readonly ntu: number } | null {
  let best = -1;
  let ntu = Number.NEGATIVE_INFINITY;
  for (let i = Math.max(series.first, from); i <= to; i += 1) {
    const y = series.get(series.ntu, i);
    if (!(y > ntu)) continue;
    ntu = y;
    best = i;
  }
  return best < 0 ? null : { timeS: series.get(series.t, best), ntu };
}

/** How much more a mean scatters because neighbouring seconds are alike. */
const likeness = 1.5;
