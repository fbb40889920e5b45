import { type Cost, costOf, type Partition } from './cost.ts';
import { ArCost } from './cost-ar.ts';
import { MeanVarCost } from './cost-mean-var.ts';
import { spreadDoubt } from './doubt.ts';
import { freshFloors, innovations, spreadFloor } from './fresh.ts';
import { changePrice, parametersOf, type Shape } from './price.ts';
import { stillFloor } from './still.ts';
import { tied, tiedLevels, tiedLevelScore, tieOf } from './tie.ts';
import { ScaledCost, SumCost } from './multivariate.ts';
import { optimal } from './optimal.ts';
import { pelt } from './pelt.ts';
import { curveSquares } from './smooth.ts';

/** One explanation of a table: a shape, noise with some memory, and changes; `score` as BIC counts, the least is best. */
export interface Explanation {
  readonly shape: Shape;
  /** Memory of the noise per column. */
  readonly phi: readonly number[];
  readonly changepoints: readonly number[];
  readonly score: number;
}

export interface ContestSettings {
  readonly least: number;
  readonly shapes: readonly ('mean' | 'line' | 'mean-var')[];
}

type Cut = ContestSettings['shapes'][number];

const memories = [0, 0.2, 0.4, 0.6, 0.75, 0.85, 0.92, 0.97];

/**
 * Which explanation a table supports: levels, lines, or levels with their own spread (with several columns: with their own
 * covariance, or with one that holds throughout), each with white noise or noise that remembers, each with the changes that serve it best. A change has to explain more than persistence and trend
 * do: a wandering or rising series is not cut into steps.
 *
 * Score: n ln(S / n) summed over the columns, S the sum of squared innovations, and (parameters) ln n.
 */
export function contest(columns: readonly Float64Array[], settings: ContestSettings): Explanation {
  let best: Explanation | null = null;
  const consider = (e: Explanation): void => {
    if (!best || e.score < best.score) best = e;
  };
  for (const shape of settings.shapes) {
    // Columns remember differently; each takes the memory that serves it best alone, then all are cut together.
    const single = columns.map((c) => bestMemory(c, shape, settings));
    const phi = single.map((s) => s.phi[0] ?? 0);
    const first = single[0];
    if (columns.length === 1) {
      if (first) consider(first);
      continue;
    }
    const found = explain(columns, shape, phi, settings);
    for (const e of found) consider(e);
    if (shape !== 'mean' || !settings.shapes.includes('mean-var')) continue;
    for (const e of tied(columns, phi, settings.least)) consider(e);
    const levels = found.reduce((a, e) => (e.score < a.score ? e : a));
    for (const e of tiedLevels(columns, phi, levels.changepoints, settings.least)) consider(e);
    // Spreads that change under noise that remembers. One column alone could as well be a price: calm and wild by turns.
    if (phi.some((f) => f > 0)) for (const e of explain(columns, 'mean-var', phi, settings)) consider(e);
  }
  consider(smooth(columns));
  return best ?? { shape: 'mean', phi: columns.map(() => 0), changepoints: [], score: 0 };
}

/** Levels with their own spread: the gain of a change counts for less where tails are heavy (`spreadDoubt`). */
class SpreadScore {
  readonly cost: Cost;
  private readonly whole: number;

  constructor(columns: readonly Float64Array[], phi: readonly number[]) {
    const n = columns[0]?.length ?? 0;
    const fresh = columns.map((c, j) => innovations(c, phi[j] ?? 0));
    const floors = freshFloors(columns, fresh, phi);
    const costs = fresh.map((c, j) => new MeanVarCost(c, floors[j]));
    this.cost = new SumCost(costs.map((c, j) => new ScaledCost(c, 1 / spreadDoubt(fresh[j] ?? new Float64Array(0)))));
    this.whole =
      costs.reduce((s, c) => s + c.between(0, n), 0) -
      this.cost.between(0, n) -
      n * columns.length +
      phi.reduce((s, f) => s - Math.log(1 - f * f) + (f > 0 ? Math.log(n) : 0), 0);
  }

  of(changepoints: readonly number[], price: number): number {
    return this.whole + costOf(this.cost, changepoints) + changepoints.length * price;
  }
}

/** No change at all: each column a curve of degree 2 or 3, or one whose slope wanders, whichever serves it best. */
function smooth(columns: readonly Float64Array[]): Explanation {
  const phi: number[] = [];
  let score = 0;
  for (const column of columns) {
    const steps = column.subarray(1).map((v, i) => v - (column[i] ?? 0));
    let best = Infinity;
    let kept = 0;
    for (const f of memories) {
      const s = Math.min(curveScore(column, 2, f), curveScore(column, 3, f), wanderingScore(steps, f));
      if (s < best) {
        best = s;
        kept = f;
      }
    }
    phi.push(kept);
    score += best;
  }
  return { shape: 'curve', phi, changepoints: [], score };
}

function curveScore(column: Float64Array, degree: number, phi: number): number {
  return freeScore(column.length, curveSquares(column, degree, phi), phi, degree + 1);
}

/** The steps from row to row remember one another and come back to a mean: level and mean step are free. */
function wanderingScore(steps: Float64Array, phi: number): number {
  return freeScore(steps.length + 1, curveSquares(steps, 0, phi), phi, 2);
}

/** Score of `n` rows that leave `squares` of innovations under noise of memory `phi`, `free` parameters being fitted; the first is of every explanation. */
function freeScore(n: number, squares: number, phi: number, free: number): number {
  return (
    n * Math.log(Math.max(squares / n, 1e-300)) -
    Math.log(1 - phi * phi) +
    (free - 1 + (phi > 0 ? 1 : 0)) * Math.log(n) +
    (n * free) / Math.max(1, n - free)
  );
}

function bestMemory(column: Float64Array, shape: Cut, settings: ContestSettings): Explanation {
  let best: Explanation = { shape, phi: [0], changepoints: [], score: Infinity };
  const tried = new Set<number>();
  const attempt = (i: number): void => {
    const phi = memories[i];
    if (phi === undefined || tried.has(i)) return;
    tried.add(i);
    for (const e of explain([column], shape, [phi], settings)) if (e.score < best.score) best = e;
  };
  if (shape === 'mean-var') {
    attempt(0);
    return best;
  }
  // Every other one, then the neighbours of the best: the score is smooth in the memory.
  for (let i = 0; i < memories.length; i += 2) attempt(i);
  const at = memories.indexOf(best.phi[0] ?? 0);
  attempt(at - 1);
  attempt(at + 1);
  return best;
}

/**
 * Score of given changes at the resolution of these columns, on the scale of `contest`: for candidates that were found
 * in other ways.
 */
export function scoreOf(
  columns: readonly Float64Array[],
  shape: Explanation['shape'],
  changepoints: readonly number[],
): number {
  const n = columns[0]?.length ?? 0;
  const d = columns.length;
  const price = changePrice(shape, n, d);
  if (shape === 'curve') return smooth(columns).score;
  if (shape === 'mean-var' || shape === 'mean-cov' || shape === 'mean-tie') {
    const phi = columns.map((c) => bestFit(c, 'mean', changepoints).phi);
    if (shape === 'mean-cov') return tieOf(columns, phi).score(changepoints);
    if (shape === 'mean-tie') return tiedLevelScore(columns, phi, changepoints);
    const none = phi.map(() => 0);
    return Math.min(...(d > 1 ? [none, phi] : [none]).map((p) => new SpreadScore(columns, p).of(changepoints, price)));
  }
  let score = price * changepoints.length;
  for (const c of columns) score += bestFit(c, shape, changepoints).score + (shape === 'line' ? Math.log(n) : 0);
  return score;
}

/** Where levels and spreads change under noise of these memories. */
export function spreadCuts(columns: readonly Float64Array[], phi: readonly number[], least: number): readonly number[] {
  const price = changePrice('mean-var', columns[0]?.length ?? 0, columns.length);
  return pelt(new SpreadScore(columns, phi).cost, price, least).changepoints;
}

/** The memory of the noise that serves given changes of one column best, and their score without the price of the changes. */
export function bestFit(
  c: Float64Array,
  shape: 'mean' | 'line',
  changepoints: readonly number[],
): { phi: number; score: number } {
  const n = c.length;
  // A column that a cut explains to the last digit leaves rounding only, which must not decide between cuts.
  const least = n * Math.max(spreadFloor(c), stillFloor(c));
  const fits = memories.map((phi) => {
    const s = Math.max(costOf(new ArCost(c, shape, phi), changepoints), least);
    const start = (changepoints.length + 1) * Math.log(1 - phi * phi);
    return { phi, score: n * Math.log(s / n) - start + (phi > 0 ? Math.log(n) : 0) };
  });
  return fits.reduce((a, b) => (b.score < a.score ? b : a));
}

function explain(
  columns: readonly Float64Array[],
  shape: Cut,
  phi: readonly number[],
  settings: ContestSettings,
): Explanation[] {
  const n = columns[0]?.length ?? 0;
  const logN = Math.log(n);
  const d = columns.length;
  const price = changePrice(shape, n, d);
  const memory = phi.reduce((s, f) => s + (f > 0 ? logN : 0), 0);
  const base = d * (shape === 'line' ? 1 : 0) * logN + memory;
  if (shape === 'mean-var') {
    const spread = new SpreadScore(columns, phi);
    const changepoints = spreadCuts(columns, phi, Math.max(settings.least, 8));
    return [{ shape, phi, changepoints, score: spread.of(changepoints, price) }];
  }
  // Each segment starts its noise at the stationary law: its normaliser is part of the likelihood.
  const start = phi.reduce((s, f) => s - Math.log(1 - f * f), 0);
  const plain = columns.map((c, j) => new ArCost(c, shape, phi[j] ?? 0));
  const whole = plain.map((c) => Math.max(c.between(0, n) / n, 1e-300));
  const floors = columns.map(stillFloor);
  const out: Explanation[] = [];
  const seen = new Set<string>();
  const judge = (changepoints: readonly number[]): void => {
    const key = changepoints.join();
    if (seen.has(key)) return;
    seen.add(key);
    let score = base + start + changepoints.length * (price + start);
    for (const [j, c] of plain.entries()) {
      const used = d * parametersOf(shape) * (changepoints.length + 1);
      const s = Math.max(costOf(c, changepoints), Math.max(1e-12 * (whole[j] ?? 0), floors[j] ?? 0) * n, 1e-300);
      score += n * Math.log(s / Math.max(1, n)) + (n * used) / (d * Math.max(1, n - used));
    }
    out.push({ shape, phi, changepoints, score });
  };
  judge([]);
  const solve = n <= 400 ? optimal : pelt;
  let share = 0.7;
  for (let turn = 0; turn < 8; turn++, share *= 0.55) {
    const cost: Cost = new SumCost(columns.map((c, j) => new ArCost(c, shape, phi[j] ?? 0, (whole[j] ?? 1) * share)));
    const p: Partition = solve(cost, price + start, settings.least);
    if (p.changepoints.length > n / (4 * settings.least) + 2) break;
    judge(p.changepoints);
  }
  return out;
}
