import type { Cost } from './cost.ts';
import { pelt } from './pelt.ts';

/**
 * Changes of a table too long to be cut as one: exact (PELT) within windows of `window` rows, each of which begins at the
 * last change that the one before is sure of, or half a window on where there is none. What a window shows in its last
 * quarter has seen too little of what comes after, and is left to the next.
 * @param costOf the cost of rows from..to, counted from 0 at `from`
 */
export function inWindows(
  costOf: (from: number, to: number) => Cost,
  rows: number,
  window: number,
  penalty: number,
  least: number,
): number[] {
  const out: number[] = [];
  let from = 0;
  for (;;) {
    const to = Math.min(rows, from + window);
    const begin = from;
    const found = pelt(costOf(begin, to), penalty, least).changepoints.map((c) => c + begin);
    if (to === rows) return [...out, ...found];
    const sure = found.filter((c) => c <= to - window / 4);
    out.push(...sure);
    from = sure.at(-1) ?? to - Math.floor(window / 2);
  }
}
