import type { Series } from '../signal/series.ts';

export interface Still {
  readonly ntu: number;
  readonly sd: number;
  /** Change over the stretch, NTU (negative: fallen), and its uncertainty. */
  readonly changeNtu: number;
  readonly changeSd: number;
}

/**
 * Straight line through the last `spanL` litres and at least `spanS` seconds of readings: does the line stand still?
 * A release washes out and an echo fades from loop to loop; what has not fallen over several volumes is no release. Null
 * when there is no such stretch since `from`, or it is not straight.
 */
export function standstill(series: Series, from: number, spanL: number, spanS: number): Still | null {
  const to = series.length - 1;
  const { t: times, litres, ntu, sd } = series;
  const t1 = series.get(times, to);
  const v1 = series.get(litres, to);
  let n = 0;
  let st = 0;
  let sy = 0;
  let stt = 0;
  let sty = 0;
  let syy = 0;
  let svar = 0;
  let i = to;
  const least = Math.max(from, series.first, to - 900);
  for (; i >= least; i -= 1) {
    const at = series.at(i);
    const y = ntu[at] ?? Number.NaN;
    const t = (times[at] ?? 0) - t1;
    if (t <= -spanS && v1 - (litres[at] ?? 0) >= spanL) break;
    if (Number.isNaN(y)) continue;
    n += 1;
    st += t;
    sy += y;
    stt += t * t;
    sty += t * y;
    syy += y * y;
    const scatter = sd[at] ?? 0;
    svar += scatter * scatter;
  }
  if (i < least || n < 0.5 * spanS || n < 20) return null;
  const span = t1 - series.get(times, i);
  const tBar = st / n;
  const yBar = sy / n;
  const ctt = stt - n * tBar * tBar;
  const cty = sty - n * tBar * yBar;
  const slope = cty / ctt;
  const residual = Math.max(0, syy - n * yBar * yBar - slope * cty) / n;
  const expected = svar / n;
  if (residual > 3 * expected + 0.1) return null;
  const sd2 = Math.max(residual, expected);
  return {
    ntu: yBar - slope * tBar,
    sd: Math.sqrt((sd2 / n) * 4 + 0.1),
    changeNtu: slope * span,
    changeSd: Math.sqrt(sd2 / ctt) * span,
  };
}
