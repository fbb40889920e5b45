import { studentTail } from '../quantity/special.ts';

/** Chance that quiet noise of so few rows is cut, at most. */
const falseCut = 0.01;
const least = 2;

/**
 * The one change of level that a table of 4 to 7 rows may show: the split into two levels, each of two rows at least, that
 * Student's t finds least likely under noise alone, if that is under one in a hundred after having looked everywhere
 * (Bonferroni: chance times splits times columns). So few rows cannot show more than one change, nor a slope, nor a spread.
 */
export function tinyChange(columns: readonly ArrayLike<number>[]): readonly number[] {
  const n = columns[0]?.length ?? 0;
  let at = -1;
  let chance = falseCut;
  const looks = columns.length * (n - 2 * least + 1);
  for (let cut = least; cut <= n - least; cut++)
    for (const column of columns) {
      const p = looks * chanceOf(column, cut);
      if (p >= chance) continue;
      chance = p;
      at = cut;
    }
  return at < 0 ? [] : [at];
}

function chanceOf(x: ArrayLike<number>, cut: number): number {
  const n = x.length;
  const mean = (from: number, to: number): number => {
    let s = 0;
    for (let i = from; i < to; i++) s += x[i] ?? 0;
    return s / (to - from);
  };
  const a = mean(0, cut);
  const b = mean(cut, n);
  let squares = 0;
  for (let i = 0; i < n; i++) squares += ((x[i] ?? 0) - (i < cut ? a : b)) ** 2;
  // Rounding leaves a trace of noise where there is none.
  const sd = Math.max(Math.sqrt(squares / (n - 2)), 1e-12 * Math.max(Math.abs(a), Math.abs(b)));
  if (a === b) return 1;
  const t = Math.abs(b - a) / Math.max(sd * Math.sqrt(1 / cut + 1 / (n - cut)), Number.MIN_VALUE);
  return 2 * studentTail(t, n - 2);
}
