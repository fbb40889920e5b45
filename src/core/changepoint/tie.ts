import { costOf } from './cost.ts';
import { MeanCost } from './cost-mean.ts';
import { MeanCovCost } from './cost-mean-cov.ts';
import { spreadDoubt } from './doubt.ts';
import { freshFloors, innovations } from './fresh.ts';
import { SumCost } from './multivariate.ts';
import { pelt } from './pelt.ts';
import { changePrice, tiePrice } from './price.ts';

/** Columns of which a covariance is tried: the parameters of one grow with the square. */
export const mostTied = 8;

interface Tied {
  readonly shape: 'mean-cov' | 'mean-tie';
  readonly phi: readonly number[];
  readonly changepoints: readonly number[];
  readonly score: number;
}

/**
 * Columns that go together: means and covariance of their innovations (each column less its memory of the row before),
 * free in each segment. A tie that holds throughout is paid for once, so it never counts for a change.
 */
export function tied(columns: readonly Float64Array[], phi: readonly number[], least: number): Tied[] {
  const d = columns.length;
  const n = columns[0]?.length ?? 0;
  if (d < 2 || d > mostTied) return [];
  const longer = Math.max(least, 8, 3 * d);
  const tie = tieOf(columns, phi);
  const found = pelt(tie.cost, tiePrice(n, d) * tie.doubt, longer).changepoints;
  return [[], found].map((changepoints) => ({ shape: 'mean-cov', phi, changepoints, score: tie.score(changepoints) }));
}

interface Tie {
  readonly cost: MeanCovCost;
  /** What the gain of a change is divided by: see `spreadDoubt`. */
  readonly doubt: number;
  score(changepoints: readonly number[]): number;
}

export function tieOf(columns: readonly Float64Array[], phi: readonly number[]): Tie {
  const d = columns.length;
  const n = columns[0]?.length ?? 0;
  const fresh = columns.map((c, j) => innovations(c, phi[j] ?? 0));
  const cost = new MeanCovCost(fresh, freshFloors(columns, fresh, phi));
  const doubt = fresh.reduce((s, c) => s + spreadDoubt(c), 0) / d;
  const whole = cost.between(0, n);
  const base = baseOf(phi, n);
  const score = (changepoints: readonly number[]): number =>
    whole + (costOf(cost, changepoints) - whole) / doubt + changepoints.length * tiePrice(n, d) + base;
  return { cost, doubt, score };
}

/** What no change costs: normaliser and parameters of the memories, and the covariance. */
function baseOf(phi: readonly number[], n: number): number {
  const d = phi.length;
  const memory = phi.reduce((s, f) => s - Math.log(1 - f * f) + (f > 0 ? Math.log(n) : 0), 0);
  return memory + ((d * (d - 1)) / 2) * Math.log(n) - n * d;
}

/**
 * Columns that go together the same way throughout, while their levels change: one covariance of the innovations about their means in
 * each segment. Cut as levels are, once what the columns have in common is taken out of each (Mahalanobis 1936).
 * @param known changes of level found without the tie
 */
export function tiedLevels(
  columns: readonly Float64Array[],
  phi: readonly number[],
  known: readonly number[],
  least: number,
): Tied[] {
  const n = columns[0]?.length ?? 0;
  const d = columns.length;
  if (d < 2 || d > mostTied) return [];
  const fresh = columns.map((c, j) => innovations(c, phi[j] ?? 0));
  const price = changePrice('mean-tie', n, d);
  let changepoints = known;
  const tried = [known];
  for (let turn = 0; turn < 2; turn++) {
    const apart = untied(fresh, factorOf(centredBy(fresh, changepoints), freshFloors(columns, fresh, phi)));
    changepoints = pelt(new SumCost(apart.map((c) => new MeanCost(c))), price, least).changepoints;
    tried.push(changepoints);
  }
  return tried.map((t) => ({ shape: 'mean-tie', phi, changepoints: t, score: tiedLevelScore(columns, phi, t) }));
}

/** Score of given changes of level of columns that go together the same way throughout. */
export function tiedLevelScore(
  columns: readonly Float64Array[],
  phi: readonly number[],
  changepoints: readonly number[],
): number {
  const n = columns[0]?.length ?? 0;
  const fresh = columns.map((c, j) => innovations(c, phi[j] ?? 0));
  const factor = factorOf(centredBy(fresh, changepoints), freshFloors(columns, fresh, phi));
  const logDeterminant = 2 * factor.reduce((s, row, j) => s + Math.log(row[j] ?? 1), 0);
  const prices = changepoints.length * changePrice('mean-tie', n, columns.length);
  return n * (logDeterminant + columns.length) + prices + baseOf(phi, n);
}

/** Columns less their mean in each segment. */
function centredBy(columns: readonly Float64Array[], changepoints: readonly number[]): Float64Array[] {
  return columns.map((c) => {
    const out = c.slice();
    let from = 0;
    for (const to of [...changepoints, c.length]) {
      let mean = 0;
      for (let i = from; i < to; i++) mean += (c[i] ?? 0) / (to - from);
      for (let i = from; i < to; i++) out[i] = (c[i] ?? 0) - mean;
      from = to;
    }
    return out;
  });
}

/** Lower triangle whose square is the covariance of columns without means, rows from the first column on (Cholesky). */
function factorOf(columns: readonly Float64Array[], floors: readonly number[]): number[][] {
  const factor: number[][] = [];
  for (const [j, a] of columns.entries()) {
    const row: number[] = [];
    for (const [k, b] of columns.slice(0, j + 1).entries()) {
      const above = k === j ? row : (factor[k] ?? []);
      let v = k === j ? (floors[j] ?? 0) : 0;
      for (let i = 0; i < a.length; i++) v += ((a[i] ?? 0) * (b[i] ?? 0)) / a.length;
      for (let i = 0; i < k; i++) v -= (row[i] ?? 0) * (above[i] ?? 0);
      row.push(k < j ? v / (above[k] ?? 1) : Math.sqrt(Math.max(v, 0.5 * (floors[j] ?? 0))));
    }
    factor.push(row);
  }
  return factor;
}

/** Each column less what the ones before tell of it, in units of what is left. */
function untied(columns: readonly Float64Array[], factor: readonly (readonly number[])[]): Float64Array[] {
  const out: Float64Array[] = [];
  for (const [j, column] of columns.entries())
    out.push(
      column.map((v, i) => {
        let left = v;
        for (let k = 0; k < j; k++) left -= (factor[j]?.[k] ?? 0) * (out[k]?.[i] ?? 0);
        return left / (factor[j]?.[j] ?? 1);
      }),
    );
  return out;
}
