import { type Cost, costOf, type Partition } from './cost.ts';
import { ArCost } from './cost-ar.ts';
import { MeanCovCost } from './cost-mean-cov.ts';
import { MeanVarCost } from './cost-mean-var.ts';
import { spreadDoubt } from './doubt.ts';
import { roundingOf, stillFloor } from './still.ts';
import { ScaledCost, SumCost } from './multivariate.ts';
import { optimal } from './optimal.ts';
import { pelt } from './pelt.ts';
import { curveSquares } from './smooth.ts';

/** One explanation of a table: a shape, noise with some memory, and changes; `score` as BIC counts, the least is best. */
export interface Explanation {
  readonly shape: 'mean' | 'line' | 'mean-var' | 'mean-cov' | 'curve';
  /** Memory of the noise per column. */
  readonly phi: readonly number[];
  readonly changepoints: readonly number[];
  readonly score: number;
}

export interface ContestSettings {
  readonly least: number;
  readonly shapes: readonly ('mean' | 'line' | 'mean-var')[];
}

/** Price of a change over BIC's own: people mark fewer changes than BIC does, and a false one costs trust. */
const strictness = 1.15;

type Shape = ContestSettings['shapes'][number];

const memories = [0, 0.2, 0.4, 0.6, 0.75, 0.85, 0.92, 0.97];

/** Columns of which a covariance is tried: the parameters of one grow with the square. */
const mostTied = 8;

/**
 * Which explanation a table supports: levels, lines, or levels with their own spread (with several columns: with their own
 * covariance), each with white noise or noise that remembers, each with the changes that serve it best. A change has to explain more than persistence and trend
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
    if (shape === 'mean') for (const e of tied(columns, phi, settings)) consider(e);
    if (columns.length === 1 && first) consider(first);
    else for (const e of explain(columns, shape, phi, settings)) consider(e);
  }
  consider(smooth(columns));
  return best ?? { shape: 'mean', phi: columns.map(() => 0), changepoints: [], score: 0 };
}

/**
 * Columns that go together: means and covariance of their innovations (each column less its memory of the row before),
 * free in each segment. A tie that holds throughout is paid for once, so it never counts for a change.
 */
function tied(columns: readonly Float64Array[], phi: readonly number[], settings: ContestSettings): Explanation[] {
  const d = columns.length;
  const n = columns[0]?.length ?? 0;
  if (d < 2 || d > mostTied || !settings.shapes.includes('mean-var')) return [];
  const least = Math.max(settings.least, 8, 3 * d);
  const tie = tieOf(columns, phi);
  const found = pelt(tie.cost, tiePrice(n, d) * tie.doubt, least).changepoints;
  return [[], found].map((changepoints) => ({ shape: 'mean-cov', phi, changepoints, score: tie.score(changepoints) }));
}

interface Tie {
  readonly cost: MeanCovCost;
  /** What the gain of a change is divided by: see `spreadDoubt`. */
  readonly doubt: number;
  score(changepoints: readonly number[]): number;
}

function tieOf(columns: readonly Float64Array[], phi: readonly number[]): Tie {
  const d = columns.length;
  const n = columns[0]?.length ?? 0;
  const fresh = columns.map((c, j) => innovations(c, phi[j] ?? 0));
  const cost = new MeanCovCost(fresh, fresh.map(spreadFloor));
  const doubt = fresh.reduce((s, c) => s + spreadDoubt(c), 0) / d;
  const whole = cost.between(0, n);
  const start = phi.reduce((s, f) => s - Math.log(1 - f * f), 0);
  const base =
    start + phi.reduce((s, f) => s + (f > 0 ? Math.log(n) : 0), 0) + ((d * (d - 1)) / 2) * Math.log(n) - n * d;
  const score = (changepoints: readonly number[]): number =>
    whole + (costOf(cost, changepoints) - whole) / doubt + changepoints.length * tiePrice(n, d) + base;
  return { cost, doubt, score };
}

/** Levels with their own spread: the gain of a change counts for less where tails are heavy (`spreadDoubt`). */
class SpreadScore {
  readonly cost: Cost;
  private readonly whole: number;

  constructor(columns: readonly Float64Array[]) {
    const n = columns[0]?.length ?? 0;
    const costs = columns.map((c) => new MeanVarCost(c, spreadFloor(c)));
    this.cost = new SumCost(costs.map((c, j) => new ScaledCost(c, 1 / spreadDoubt(columns[j] ?? new Float64Array(0)))));
    this.whole = costs.reduce((s, c) => s + c.between(0, n), 0) - this.cost.between(0, n) - n * columns.length;
  }

  of(changepoints: readonly number[], price: number): number {
    return this.whole + costOf(this.cost, changepoints) + changepoints.length * price;
  }
}

function tiePrice(n: number, d: number): number {
  return strictness * (2 + d + (d * (d + 1)) / 2) * Math.log(n);
}

/** What each value brings that the one before did not tell; the first against the stationary law. */
function innovations(x: Float64Array, phi: number): Float64Array {
  const w = Math.sqrt(1 - phi * phi);
  return x.map((v, i) => (i === 0 ? w * v : v - phi * (x[i - 1] ?? 0)));
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

function bestMemory(column: Float64Array, shape: Shape, settings: ContestSettings): Explanation {
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
 * Price of one change in `columns` columns of `rows` rows, on the scale of twice the log likelihood: one ln n for where,
 * one for that it was looked for everywhere (as the modified BIC has it), one for each parameter.
 */
export function changePrice(shape: Explanation['shape'], rows: number, columns: number): number {
  return strictness * (2 + columns * parametersOf(shape)) * Math.log(rows);
}

/** Of one column in one segment. */
function parametersOf(shape: Explanation['shape']): number {
  return shape === 'mean' ? 1 : 2;
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
  if (shape === 'mean-var') return new SpreadScore(columns).of(changepoints, price);
  if (shape === 'mean-cov')
    return tieOf(
      columns,
      columns.map((c) => bestFit(c, 'mean', changepoints).phi),
    ).score(changepoints);
  let score = price * changepoints.length;
  for (const c of columns) score += bestFit(c, shape, changepoints).score + (shape === 'line' ? Math.log(n) : 0);
  return score;
}

/** The memory of the noise that serves given changes of one column best, and their score without the price of the changes. */
function bestFit(
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
  shape: Shape,
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
    const spread = new SpreadScore(columns);
    const { changepoints } = pelt(spread.cost, price, Math.max(settings.least, 8));
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

/**
 * A stretch flatter than a twentieth of the usual noise, or than a converter's step can show, is a sensor's doing, not a
 * regime of its own.
 */
function spreadFloor(x: Float64Array): number {
  let s = 0;
  for (let i = 1; i < x.length; i++) s += ((x[i] ?? 0) - (x[i - 1] ?? 0)) ** 2;
  return Math.max((s / Math.max(1, x.length)) * 0.0025, roundingOf(x), 1e-300);
}
