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
  const t1 = series.get(series.t, to);
  const v1 = series.get(series.litres, to);
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
    const y = series.get(series.ntu, i);
    const t = series.get(series.t, i) - t1;
    if (t <= -spanS && v1 - series.get(series.litres, i) >= spanL) break;
    if (Number.isNaN(y)) continue;
    n += 1;
    st += t;
    sy += y;
    stt += t * t;
    sty += t * y;
    syy += y * y;
    svar += series.get(series.sd, i) ** 2;
  }
  if (i < least || n < 0.5 * spanS || n < 20) return null;
  const span = -(series.get(series.t, i) - t1);
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
