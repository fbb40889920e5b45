import type { Cost } from './cost.ts';

/**
 * Several columns that change together: the sum of their costs. Give each column its own noise variance (or a cost
 * that estimates it), so that none shouts down the others. Columns are taken as independent given the segment.
 */
export class SumCost implements Cost {
  readonly n: number;
  readonly least: number;
  readonly parameters: number;
  private readonly parts: readonly Cost[];
  private scratch = new Float64Array(0);

  constructor(parts: readonly Cost[]) {
    const first = parts[0];
    if (!first) throw new RangeError('A sum of costs needs at least one column.');
    for (const p of parts)
      if (p.n !== first.n) throw new RangeError(`Columns must have equal length; got ${first.n} and ${p.n} rows.`);
    this.parts = parts;
    this.n = first.n;
    this.least = Math.max(...parts.map((p) => p.least));
    this.parameters = parts.reduce((sum, p) => sum + p.parameters, 0);
  }

  between(from: number, to: number): number {
    let sum = 0;
    for (const p of this.parts) sum += p.between(from, to);
    return sum;
  }

  fill(starts: Int32Array, count: number, to: number, out: Float64Array): void {
    if (this.scratch.length < count) this.scratch = new Float64Array(2 * count);
    out.fill(0, 0, count);
    for (const p of this.parts) {
      p.fill(starts, count, to, this.scratch);
      for (let i = 0; i < count; i++) out[i] = (out[i] ?? 0) + (this.scratch[i] ?? 0);
    }
  }
}

/** A cost that counts for less, or for more. */
export class ScaledCost implements Cost {
  readonly n: number;
  readonly least: number;
  readonly parameters: number;
  private readonly cost: Cost;
  private readonly factor: number;

  constructor(cost: Cost, factor: number) {
    this.cost = cost;
    this.factor = factor;
    this.n = cost.n;
    this.least = cost.least;
    this.parameters = cost.parameters;
  }

  between(from: number, to: number): number {
    return this.factor * this.cost.between(from, to);
  }

  fill(starts: Int32Array, count: number, to: number, out: Float64Array): void {
    this.cost.fill(starts, count, to, out);
    for (let i = 0; i < count; i++) out[i] = this.factor * (out[i] ?? 0);
  }
}
