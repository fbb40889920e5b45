import type { Series } from '../signal/series.ts';
import { median } from '../quantity/robust.ts';

/**
 * Whether the reading has climbed in a straight line for `spanS` seconds up to now, and for how much, NTU; 0 where it has
 * not. Dirt does not do that: its rise bends, ends with the pass that brought it, and falls again. A film that grows on the
 * window does, and from then on the reading tells nothing of the water. The span is cut into four; each must climb by more
 * than its scatter and by no more than twice the least: as it is read, and less what the echo is expected to bring.
 * @param echo K(v) in the rings of `series`, and the share of it that comes round
 */
export function filmClimb(series: Series, echo: Float64Array, share: number, spanS: number): number {
  const asRead = straightClimb(series, echo, 0, spanS);
  return asRead > 0 ? Math.min(asRead, straightClimb(series, echo, share, spanS)) : 0;
}

function straightClimb(series: Series, echo: Float64Array, share: number, spanS: number): number {
  const to = series.length - 1;
  const partS = Math.floor(spanS / parts);
  if (to - parts * partS < series.first) return 0;
  const levels: number[] = [];
  let variance = 0;
  let n = 0;
  for (let part = 0; part < parts; part += 1) {
    const values: number[] = [];
    for (let i = to - (parts - part) * partS + 1; i <= to - (parts - part - 1) * partS; i += 1) {
      const y = series.get(series.ntu, i);
      if (Number.isNaN(y)) continue;
      values.push(y - share * series.get(echo, i));
      variance += series.get(series.sd, i) ** 2;
      n += 1;
    }
    if (values.length < leastSeen * partS) return 0;
    levels.push(median(values));
  }
  const climbs = levels.slice(1).map((level, i) => level - (levels[i] ?? level));
  const least = Math.min(...climbs);
  const most = Math.max(...climbs);
  const scatter = Math.sqrt(variance / n / partS);
  return least > surely * scatter && most < 2 * least ? (levels.at(-1) ?? 0) - (levels[0] ?? 0) : 0;
}

// Chosen on simulated runs, no source.
/** Parts of the span. */
const parts = 4;
/** Share of a part that must have been seen. */
const leastSeen = 0.6;
/** Standard deviations of a part's middle by which each part must climb: neighbouring seconds are alike, so that it scatters more than it says. */
const surely = 6;
