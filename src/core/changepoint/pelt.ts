import { type Cost, leastLength, type Partition, requirePenalty } from './cost.ts';
import { trace } from './optimal.ts';

/**
 * Best segmentation, pruned (PELT, Killick, Fearnhead and Eckley 2012): the same answer as `optimal`, every row
 * looked at. Expected time is linear when changes keep coming, quadratic when there are few (see `fpop`).
 *
 * A start s that is beaten at row t stays beaten only once t itself may be a change, which is `least` rows later; so
 * its removal waits that long. Dropping it at once is exact for a least length of 1 alone.
 */
export function pelt(cost: Cost, penalty: number, least?: number): Partition {
  requirePenalty(penalty);
  const length = leastLength(cost, least);
  const n = cost.n;
  const best = new Float64Array(n + 1).fill(Infinity);
  const back = new Int32Array(n + 1).fill(-1);
  best[0] = -penalty;
  const starts = new Int32Array(n + 1);
  const costs = new Float64Array(n + 1);
  // Best total up to each start held, and the row from which it is out.
  const base = new Float64Array(n + 1);
  const goneAt = new Int32Array(n + 1);
  let count = 0;
  for (let t = length; t <= n; t++) {
    // Row t - length may be the start of a segment that ends before t.
    const fresh = t - length;
    if (fresh === 0 || best[fresh] !== Infinity) {
      starts[count] = fresh;
      base[count] = best[fresh] as number;
      goneAt[count++] = never;
    }
    const from = cost.sweep ? cost.sweep(starts, base, count, t, costs) : sweep(cost, starts, base, count, t, costs);
    const least = costs[from] ?? Infinity;
    best[t] = least + penalty;
    back[t] = starts[from] ?? -1;
    // Looking for beaten starts at every row would cost as much as it saves.
    if (t % 8 !== 0) continue;
    // Rounding must not prune what would have tied.
    const bound = least + penalty + 1e-9 * Math.abs(least + penalty) + 1e-12;
    let kept = 0;
    for (let i = 0; i < count; i++) {
      let gone = goneAt[i] as number;
      if ((costs[i] as number) > bound && gone === never) gone = t + length;
      // The next row is t + 1: what goes there is dropped now.
      if (gone <= t + 1) continue;
      starts[kept] = starts[i] as number;
      base[kept] = base[i] as number;
      goneAt[kept++] = gone;
    }
    count = kept;
  }
  return trace(cost, back, penalty);
}

function sweep(
  cost: Cost,
  starts: Int32Array,
  base: Float64Array,
  count: number,
  to: number,
  out: Float64Array,
): number {
  cost.fill(starts, count, to, out);
  let least = Infinity;
  let from = -1;
  for (let i = 0; i < count; i++) {
    const sum = (out[i] as number) + (base[i] as number);
    out[i] = sum;
    if (sum < least) {
      least = sum;
      from = i;
    }
  }
  return from;
}

const never = 0x7fffffff;
