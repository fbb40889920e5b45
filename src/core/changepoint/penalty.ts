import type { Partition } from './cost.ts';

/**
 * Schwarz's penalty for one more change (BIC, Yao 1988): (p + 1) ln n on the scale of twice the log likelihood, p the
 * parameters of a segment and one more for where it begins.
 */
export function bic(n: number, parameters: number): number {
  return (parameters + 1) * Math.log(n);
}

/**
 * Modified BIC (Zhang and Siegmund 2007) in the form a constant penalty can take: (p + 2) ln n. Its second part, the
 * sum of ln(segment length / n), favours even segments; `mbicOf` adds it when finished segmentations are compared.
 */
export function mbic(n: number, parameters: number): number {
  return (parameters + 2) * Math.log(n);
}

/** Zhang and Siegmund's whole criterion for a finished segmentation; the least is best. */
export function mbicOf(partition: Partition, n: number, parameters: number): number {
  const edges = [0, ...partition.changepoints, n];
  let lengths = 0;
  for (let i = 1; i < edges.length; i++) lengths += Math.log(((edges[i] ?? 0) - (edges[i - 1] ?? 0)) / n);
  return partition.cost + mbic(n, parameters) * partition.changepoints.length + parameters * lengths;
}

export interface PathStep {
  /** Penalties from..to (half-open) all give this segmentation. */
  readonly from: number;
  readonly to: number;
  readonly partition: Partition;
}

/**
 * Every segmentation that some penalty between `low` and `high` makes best (CROPS, Haynes, Eckley and Fearnhead 2017),
 * from many changes to few. `solve` is any exact method: `pelt`, `optimal` or `fpop` with its cost bound.
 * @param most rounds of solving; the path is then as fine as that allows
 */
export function penaltyPath(solve: (penalty: number) => Partition, low: number, high: number, most = 100): PathStep[] {
  const found = new Map<number, Partition>();
  let solved = 0;
  const at = (penalty: number): Partition => {
    solved++;
    const p = solve(penalty);
    const known = found.get(p.changepoints.length);
    if (!known || p.cost < known.cost) found.set(p.changepoints.length, p);
    return p;
  };
  const between = (a: Partition, b: Partition): void => {
    const more = a.changepoints.length - b.changepoints.length;
    if (more <= 1 || solved >= most) return;
    const mid = at((b.cost - a.cost) / more);
    // Ties and rounding can give either end again, or one beyond: then nothing lies between.
    if (mid.changepoints.length >= a.changepoints.length || mid.changepoints.length <= b.changepoints.length) return;
    between(a, mid);
    between(mid, b);
  };
  between(at(low), at(high));
  return hull(
    [...found.values()].sort((a, b) => b.changepoints.length - a.changepoints.length),
    low,
    high,
  );
}

function hull(all: readonly Partition[], low: number, high: number): PathStep[] {
  const kept: Partition[] = [];
  const price = (a: Partition, b: Partition): number =>
    (b.cost - a.cost) / (a.changepoints.length - b.changepoints.length);
  for (const p of all) {
    for (;;) {
      const last = kept[kept.length - 1];
      const prior = kept[kept.length - 2];
      if (!last || !prior || price(prior, last) < price(last, p)) break;
      kept.pop();
    }
    kept.push(p);
  }
  return kept.map((partition, i) => {
    const before = kept[i - 1];
    const after = kept[i + 1];
    return { from: before ? price(before, partition) : low, to: after ? price(partition, after) : high, partition };
  });
}

/**
 * The elbow of a penalty path: the segmentation that holds over the widest stretch of penalties, on a log scale, among
 * those that `least` alone allows (Lavielle 2005 takes the sharpest bend of the same curve). Null for an empty path.
 */
export function elbow(path: readonly PathStep[], least = 0): PathStep | null {
  let best: PathStep | null = null;
  let width = -Infinity;
  for (const step of path) {
    if (step.to < least) continue;
    const w = Math.log(step.to / Math.max(step.from, least, 1e-300));
    if (w > width) {
      width = w;
      best = step;
    }
  }
  return best;
}

/** Rules that find the price of a change by themselves. */
export const penaltyRules = ['bic', 'mbic', 'elbow'] as const;
export type PenaltyRule = (typeof penaltyRules)[number];

/**
 * The segmentation that a rule chooses: at the price of BIC; of all that a price from BIC on makes best, the one with the
 * least whole criterion of Zhang and Siegmund; or, if any change is worth the price of MBIC, the one that holds over the
 * widest stretch of prices from there on.
 * @param n rows, @param parameters of a segment, @param solver any exact method
 */
export function byRule(
  rule: PenaltyRule,
  n: number,
  parameters: number,
  solver: (penalty: number) => Partition,
): Partition {
  const solved = new Map<number, Partition>();
  const solve = (penalty: number): Partition => {
    const p = solved.get(penalty) ?? solver(penalty);
    solved.set(penalty, p);
    return p;
  };
  const low = rule === 'elbow' ? mbic(n, parameters) : bic(n, parameters);
  const most = solve(low);
  if (rule === 'bic' || most.changepoints.length === 0) return most;
  let high = 2 * low;
  while (solve(high).changepoints.length > 0) high *= 16;
  const path = penaltyPath(solve, low, high, n > manyRows ? fewRounds : undefined);
  if (rule === 'elbow') return elbow(path.filter((s) => s.partition.changepoints.length > 0))?.partition ?? most;
  const score = (p: Partition): number => mbicOf(p, n, parameters);
  return path.map((s) => s.partition).reduce((a, b) => (score(b) < score(a) ? b : a), most);
}

/** A long table is solved fewer times: its path is coarser. */
const manyRows = 20_000;
const fewRounds = 16;
