import { type Cost, costOf, leastLength, type Partition, requirePenalty } from './cost.ts';

/**
 * Best segmentation by trying every one (optimal partitioning, Jackson et al. 2005): quadratic in the rows. The oracle
 * for the pruned methods, and the right tool for short tables and for costs that may not be pruned.
 */
export function optimal(cost: Cost, penalty: number, least?: number): Partition {
  requirePenalty(penalty);
  const length = leastLength(cost, least);
  const n = cost.n;
  const best = new Float64Array(n + 1).fill(Infinity);
  const back = new Int32Array(n + 1).fill(-1);
  best[0] = -penalty;
  const starts = Int32Array.from({ length: n + 1 }, (_, i) => i);
  const costs = new Float64Array(n + 1);
  for (let t = Math.min(length, n); t <= n && n >= length; t++) {
    cost.fill(starts, t - length + 1, t, costs);
    for (let s = 0; s <= t - length; s++) {
      const total = (best[s] ?? Infinity) + (costs[s] ?? 0) + penalty;
      if (total < (best[t] ?? Infinity)) {
        best[t] = total;
        back[t] = s;
      }
    }
  }
  return trace(cost, back, penalty);
}

/** Follow the back-pointers; a series shorter than the least length is one segment. */
export function trace(cost: Cost, back: Int32Array, penalty: number): Partition {
  const changepoints: number[] = [];
  for (let t = back[cost.n] ?? 0; t > 0; t = back[t] ?? 0) changepoints.push(t);
  changepoints.reverse();
  const sum = cost.n >= cost.least && cost.n > 0 ? costOf(cost, changepoints) : 0;
  return { changepoints, cost: sum, total: sum + penalty * changepoints.length };
}

/**
 * Best segmentation for every number of changes from 0 to `most` (segment neighbourhood, Auger and Lawrence 1989):
 * entry k has k changes, or is null where k changes do not fit. Time most * n^2 / 2.
 */
export function optimalByCount(cost: Cost, most: number, least?: number): (Partition | null)[] {
  const length = leastLength(cost, least);
  const n = cost.n;
  let before = new Float64Array(n + 1).fill(Infinity);
  for (let t = length; t <= n; t++) before[t] = cost.between(0, t);
  const backs: Int32Array[] = [];
  const out: (Partition | null)[] = [
    n >= length ? { changepoints: [], cost: before[n] ?? 0, total: before[n] ?? 0 } : null,
  ];
  const starts = Int32Array.from({ length: n + 1 }, (_, i) => i);
  const costs = new Float64Array(n + 1);
  for (let k = 1; k <= most; k++) {
    const now = new Float64Array(n + 1).fill(Infinity);
    const back = new Int32Array(n + 1).fill(-1);
    for (let t = (k + 1) * length; t <= n; t++) {
      cost.fill(starts, t - length + 1, t, costs);
      for (let s = k * length; s <= t - length; s++) {
        const total = (before[s] ?? Infinity) + (costs[s] ?? 0);
        if (total < (now[t] ?? Infinity)) {
          now[t] = total;
          back[t] = s;
        }
      }
    }
    backs.push(back);
    out.push(Number.isFinite(now[n]) ? byBacks(backs, n, now[n] ?? 0) : null);
    before = now;
  }
  return out;
}

function byBacks(backs: readonly Int32Array[], n: number, cost: number): Partition {
  const changepoints: number[] = [];
  let t = n;
  for (let k = backs.length - 1; k >= 0; k--) {
    t = backs[k]?.[t] ?? 0;
    changepoints.push(t);
  }
  changepoints.reverse();
  return { changepoints, cost, total: cost };
}
