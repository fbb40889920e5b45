import type { Series } from '../signal/series.ts';
import { median } from '../quantity/robust.ts';
import type { Reason } from './verdict.ts';

/** A straight climb of the reading up to now: over how many seconds, and its level at the middle of its first and of its last part, NTU. */
export interface Climb {
  readonly spanS: number;
  readonly fromNtu: number;
  readonly toNtu: number;
  /** The least of what is surely climbed: as it is read, and less what the echo is expected to bring. */
  readonly ntu: number;
}

/**
 * The largest straight climb of the reading up to now that has gone on for `leastS` seconds and more, all of them in the
 * `quietS` seconds in which no dirt was due; null where there is none. Dirt does not climb so: its rise bends, ends with the
 * pass that brought it, and falls again. A film that grows on the window does, and from then on the reading tells nothing of
 * the water. A background that truly climbs looks the same. A slow one needs a longer look than a quick one.
 * @param echo K(v) in the rings of `series`, and the share of it that comes round
 */
export function filmClimb(
  series: Series,
  echo: Float64Array,
  share: number,
  leastS: number,
  quietS: number,
): Climb | null {
  let largest: Climb | null = null;
  for (const times of spans) {
    const spanS = times * leastS;
    if (quietS <= spanS) break;
    const asRead = straightClimb(series, echo, 0, spanS);
    const less = asRead && straightClimb(series, echo, share, spanS);
    if (!less) continue;
    const ntu = Math.min(asRead.toNtu - asRead.fromNtu, less.toNtu - less.fromNtu);
    if (ntu > (largest?.ntu ?? 0)) largest = { spanS, ...asRead, ntu };
  }
  return largest;
}

export function perMin({ spanS, fromNtu, toNtu }: Climb): number {
  return (60 * (toNtu - fromNtu) * parts) / (spanS * (parts - 1));
}

/** What is said of it: the same as of one that passes hide for minutes (hydraulics/window.ts). */
export function climbReason(climb: Climb): Reason {
  const { fromNtu, toNtu } = climb;
  return {
    code: 'window-fouling',
    figures: { beforeNtu: fromNtu, backgroundNtu: toNtu, ntuPerMin: perMin(climb) },
  };
}

/** The span is cut into four; each must climb by more than its scatter and by no more than twice the least. */
function straightClimb(
  series: Series,
  echo: Float64Array,
  share: number,
  spanS: number,
): Pick<Climb, 'fromNtu' | 'toNtu'> | null {
  const partS = Math.floor(spanS / parts);
  let end = series.length - 1;
  if (end - parts * partS < series.first) return null;
  /** Newest first: most lines fall, and the first two parts show it. */
  const levels: number[] = [];
  let variance = 0;
  let n = 0;
  for (let part = 0; part < parts; part += 1, end -= partS) {
    const values: number[] = [];
    for (let i = end - partS + 1; i <= end; i += 1) {
      const y = series.get(series.ntu, i);
      if (Number.isNaN(y)) continue;
      values.push(y - share * series.get(echo, i));
      variance += series.get(series.sd, i) ** 2;
      n += 1;
    }
    if (values.length < leastSeen * partS) return null;
    const level = median(values);
    if (level >= (levels.at(-1) ?? Number.POSITIVE_INFINITY)) return null;
    levels.push(level);
  }
  const climbs = levels.slice(1).map((level, i) => (levels[i] ?? level) - level);
  const least = Math.min(...climbs);
  const scatter = Math.sqrt(variance / n / partS);
  if (least <= surely * scatter || Math.max(...climbs) >= 2 * least) return null;
  return { fromNtu: levels.at(-1) ?? 0, toNtu: levels[0] ?? 0 };
}

// Chosen on simulated runs, no source.
/** Lengths that are looked at, times the shortest. */
const spans = [1, 1.4, 2, 2.8, 4];
/** Parts of the span. */
const parts = 4;
/** Share of a part that must have been seen. */
const leastSeen = 0.6;
/** Standard deviations of a part's middle by which each part must climb: neighbouring seconds are alike, so that it scatters more than it says. */
const surely = 6;
