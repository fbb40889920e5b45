/** How well found changes match true ones. Changes are first rows of new regimes, counted from 0. */

export interface MarginScore {
  readonly precision: number;
  readonly recall: number;
  readonly f1: number;
}

/**
 * Precision and recall within `margin` rows, each true change matched by at most one found change (Killick et al. 2012;
 * van den Burg and Williams 2020). With `withStart`, row 0 counts as a change both true and found, as in the latter.
 */
export function marginScore(
  truth: readonly number[],
  found: readonly number[],
  margin: number,
  withStart = false,
): MarginScore {
  const t = withStart ? [0, ...truth.filter((x) => x !== 0)] : [...truth];
  const f = withStart ? [0, ...found.filter((x) => x !== 0)] : [...found];
  const free = new Set(f);
  let hits = 0;
  for (const x of [...t].sort((a, b) => a - b)) {
    let best: number | null = null;
    for (const y of free)
      if (Math.abs(y - x) <= margin && (best === null || Math.abs(y - x) < Math.abs(best - x))) best = y;
    if (best === null) continue;
    free.delete(best);
    hits++;
  }
  const precision = f.length > 0 ? hits / f.length : t.length === 0 ? 1 : 0;
  const recall = t.length > 0 ? hits / t.length : 1;
  const f1 = precision + recall > 0 ? (2 * precision * recall) / (precision + recall) : 0;
  return { precision, recall, f1 };
}

/**
 * The same where several people marked one series (van den Burg and Williams 2020): a found change is right if any of
 * them marked it, and recall is the mean of what each of them marked. Row 0 counts as marked and found.
 */
export function marginScoreOfMany(
  marked: readonly (readonly number[])[],
  found: readonly number[],
  margin: number,
): MarginScore {
  const { precision } = marginScore([...new Set(marked.flat())], found, margin, true);
  const each = marked.map((truth) => marginScore(truth, found, margin, true).recall);
  const recall = each.reduce((s, r) => s + r, 0) / Math.max(1, each.length);
  return { precision, recall, f1: (2 * precision * recall) / (precision + recall) };
}

/**
 * Covering of the true segmentation by the found one: the overlap (Jaccard) of each true segment with the found one
 * that fits it best, weighted by its length (Arbelaez et al. 2011). 1 is a perfect match.
 */
export function covering(truth: readonly number[], found: readonly number[], rows: number): number {
  const segments = (c: readonly number[]): [number, number][] => {
    const edges = [0, ...c.filter((x) => x > 0 && x < rows), rows];
    return edges.slice(1).map((to, i) => [edges[i] ?? 0, to]);
  };
  const other = segments(found);
  let sum = 0;
  for (const [a, b] of segments(truth)) {
    let best = 0;
    for (const [c, d] of other) {
      const both = Math.min(b, d) - Math.max(a, c);
      if (both > 0) best = Math.max(best, both / (Math.max(b, d) - Math.min(a, c)));
    }
    sum += (b - a) * best;
  }
  return rows > 0 ? sum / rows : 1;
}

/** Rows from each true change to the first alarm in [change, next change), the changed row counting 1; null: missed. */
export function delays(truth: readonly number[], alarms: readonly number[]): (number | null)[] {
  return truth.map((at, i) => {
    const next = truth[i + 1] ?? Infinity;
    const first = alarms.find((a) => a >= at && a < next);
    return first === undefined ? null : first - at + 1;
  });
}
