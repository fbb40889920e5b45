/**
 * What a segment costs: twice the negative log likelihood of its values under the segment's own best parameters (up to
 * a constant), or a sum of losses that plays its part. Splitting a segment never costs more, which is what pruning
 * needs: cost(a, b) + cost(b, c) <= cost(a, c).
 */
export interface Cost {
  /** Rows. */
  readonly n: number;
  /** Shortest segment that the cost is defined for. */
  readonly least: number;
  /** Parameters that each segment has of its own; a penalty counts them. */
  readonly parameters: number;
  /** Cost of rows from..to, half-open; to - from >= least. */
  between(from: number, to: number): number;
  /** `between(starts[i], to)` into out[i], for the first `count` starts: one call a row keeps the inner loop tight. */
  fill(starts: Int32Array, count: number, to: number, out: Float64Array): void;
  /**
   * `fill`, with `base[i]` added to each, in one sweep; gives the place of the least (the first of equal ones). For a cost so
   * cheap that a second loop over the starts would be felt.
   */
  sweep?(starts: Int32Array, base: Float64Array, count: number, to: number, out: Float64Array): number;
}

/** A segmentation: first rows of the new regimes, ascending, and the penalised cost reached. */
export interface Partition {
  readonly changepoints: readonly number[];
  /** Sum of costs + penalty * number of changes. */
  readonly total: number;
  /** Sum of costs alone. */
  readonly cost: number;
}

/** @throws RangeError naming the first value that is not a finite number */
export function requireFinite(values: ArrayLike<number>, name = 'values'): void {
  for (let i = 0; i < values.length; i++) {
    const x = values[i];
    if (x === undefined || !Number.isFinite(x))
      throw new RangeError(
        `${name}[${i}] is ${x}: segmentation needs finite numbers. Leave the row out or fill it first.`,
      );
  }
}

/** @throws RangeError when a penalty could not stop anything */
export function requirePenalty(penalty: number): void {
  if (!(penalty >= 0)) throw new RangeError(`A penalty is 0 or more; got ${penalty}.`);
}

/** Shortest segment asked for, as a whole number that the cost can bear. */
export function leastLength(cost: Cost, least: number | undefined): number {
  const wanted = least ?? 1;
  if (!Number.isInteger(wanted) || wanted < 1)
    throw new RangeError(`The minimum length is a whole number from 1; got ${wanted}.`);
  return Math.max(wanted, cost.least);
}

/** Sum of costs of a given segmentation. */
export function costOf(cost: Cost, changepoints: readonly number[]): number {
  let sum = 0;
  let from = 0;
  for (const to of [...changepoints, cost.n]) {
    sum += cost.between(from, to);
    from = to;
  }
  return sum;
}

/** Values less their mean, and the mean: prefix sums of centred values keep their digits whatever the offset. */
export function centred(values: ArrayLike<number>): { readonly mean: number; readonly values: Float64Array } {
  const n = values.length;
  let mean = 0;
  for (let i = 0; i < n; i++) mean += ((values[i] ?? 0) - mean) / (i + 1);
  const out = new Float64Array(n);
  for (let i = 0; i < n; i++) out[i] = (values[i] ?? 0) - mean;
  return { mean, values: out };
}

/** Prefix sums: out[i] is the sum of the first i terms. */
export function prefix(n: number, term: (i: number) => number): Float64Array {
  const out = new Float64Array(n + 1);
  for (let i = 0; i < n; i++) out[i + 1] = (out[i] ?? 0) + term(i);
  return out;
}
