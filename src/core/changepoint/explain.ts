import { bestFit, contest, type Explanation, scoreOf, spreadCuts } from './contest.ts';
import { changePrice } from './price.ts';
import { mostTied } from './tie.ts';
import { costOf } from './cost.ts';
import { MeanCost } from './cost-mean.ts';
import { MeanCovCost } from './cost-mean-cov.ts';
import { MeanVarCost } from './cost-mean-var.ts';
import { SlopeCost } from './cost-slope.ts';
import { SumCost } from './multivariate.ts';
import { fpop } from './fpop.ts';
import { deseasoned, seasonOf, withoutSpikes } from './prepare.ts';
import { blockMeans } from './smooth.ts';
import { noiseOf } from './still.ts';
import { tinyChange } from './tiny.ts';
import { inWindows } from './windows.ts';

/** Rows up to which every row is a place where a segment may begin; longer tables are cut in blocks first. */
const direct = 1000;
const blocks = 700;

/**
 * Changes of a whole table with nothing known of it: lone spikes and seasons are taken off, a positive series that
 * grows by proportion is taken in logarithms where that explains it better, and `contest` decides what remains.
 * Fewer than eight rows: see `tinyChange`. Tables over 1000 rows are first cut in means of blocks (each row counts), then each change is placed to the row.
 */
export function explainTable(columns: readonly Float64Array[]): readonly number[] {
  const moving = columns.filter(moves);
  const rows = moving[0]?.length ?? 0;
  if (rows < 8) return tinyChange(moving);
  const single = moving[0];
  const plain = explainScaled(moving);
  if (moving.length > 1 || !single) return plain.changepoints;
  let low = Infinity;
  let high = -Infinity;
  for (const v of single) {
    low = Math.min(low, v);
    high = Math.max(high, v);
  }
  if (!(low > 0 && high > 2 * low)) return plain.changepoints;
  const logs = single.map(Math.log);
  const inLogs = explainScaled([logs]);
  // Likelihoods on two scales compare through the Jacobian of the transform.
  const jacobian = 2 * logs.reduce((s, v) => s + v, 0);
  return inLogs.score + jacobian < plain.score ? inLogs.changepoints : plain.changepoints;
}

function moves(column: Float64Array): boolean {
  return column.some((v) => v !== column[0]);
}

function explainScaled(columns: readonly Float64Array[]): Explanation {
  const rows = columns[0]?.length ?? 0;
  let season = 0;
  // A column that moved in lone spikes alone is left with nothing to tell.
  const calmed = columns.map((c) => withoutSpikes(c)).filter(moves);
  if (calmed.length === 0) return { shape: 'mean', phi: [], changepoints: [], score: 0 };
  const clean = calmed.map((calm) => {
    const found = seasonOf(calm);
    if (!found) return calm;
    season += found.period * Math.log(Math.min(rows, direct));
    return deseasoned(calm, found.period);
  });
  const size = rows > direct ? Math.ceil(rows / blocks) : 1;
  const worked = size > 1 ? clean.map((c) => blockMeans(c, size)) : clean;
  const n = worked[0]?.length ?? 0;
  const found = contest(worked, {
    least: Math.max(3, Math.min(10, Math.round(n / 40))),
    shapes: n >= 60 ? ['mean', 'line', 'mean-var'] : ['mean', 'line'],
  });
  if (size === 1) return { ...found, score: found.score + season };
  const fine = atFullLength(clean, { ...found, changepoints: placed(clean, found, size) });
  return { ...fine, score: fine.score + season };
}

/**
 * Blocks cannot show changes that come every few blocks: the table is also cut at full length and in finer blocks (by
 * functional pruning one column's levels, in windows the rest), at prices for noise that counts for more and more, and
 * the best of all by the same score stands.
 */
function atFullLength(columns: readonly Float64Array[], found: Explanation): Explanation {
  let best: Explanation = { ...found, score: scoreOf(columns, found.shape, found.changepoints) };
  const consider = (shape: Explanation['shape'], cuts: readonly number[], size = 1): void => {
    if (cuts.length === 0) return;
    const changepoints = size > 1 ? placed(columns, { ...found, shape, changepoints: cuts }, size) : cuts;
    const score = scoreOf(columns, shape, changepoints);
    if (score < best.score) best = { shape, phi: columns.map(() => 0), changepoints, score };
    if (shape === 'mean' && columns.length > 1 && columns.length <= mostTied) consider('mean-tie', changepoints);
  };
  consider(found.shape, found.changepoints);
  const rows = columns[0]?.length ?? 0;
  const sds = columns.map(noiseOf);
  const only = columns.length === 1 ? columns[0] : undefined;
  const sd = sds[0] ?? 1;
  if (only)
    for (const factor of [1, 4, 16]) {
      const penalty = factor * changePrice('mean', rows, 1);
      consider('mean', fpop(only, { penalty, variance: sd * sd, cap: 4 * sd }).changepoints);
    }
  let size = 1;
  while ((rows * columns.length) / size > mostCells) size *= finer;
  if (size === 1) consider('mean-var', windowed(columns, 'mean-var', sds, 1));
  // Spreads under noise that remembers, which a window may be too short to show.
  if (!only && rows * rows * columns.length <= mostPairs) {
    const phi = columns.map((c) => bestFit(c, 'mean', found.changepoints).phi);
    consider('mean-var', spreadCuts(columns, phi, 8));
  }
  for (; rows / size > direct; size *= finer) {
    const blocked = size > 1 ? columns.map((c) => blockMeans(c, size)) : columns;
    const noise = size > 1 ? blocked.map(noiseOf) : sds;
    if (!only) consider('mean', windowed(blocked, 'mean', noise, size), size);
    if (size > 1) consider('line', windowed(blocked, 'line', noise, size), size);
  }
  return best;
}

/** Cells beyond which the finest cut is in blocks too: its time grows with the cells. */
const mostCells = 500_000;
/** Pairs of rows, times columns, up to which a long table is cut whole: this takes about a second. */
const mostPairs = 20_000_000;
/** Blocks of one level hold so many of the one before. */
const finer = 4;
/** Rows or blocks that a window sees. */
const window = 200;

/** Changes of columns that are long, one shape, in windows. */
function windowed(
  columns: readonly Float64Array[],
  shape: 'mean' | 'line' | 'mean-var',
  sds: readonly number[],
  size: number,
): number[] {
  const rows = columns[0]?.length ?? 0;
  const make = (c: Float64Array, sd: number) =>
    shape === 'mean' ? new MeanCost(c, sd * sd) : shape === 'line' ? new SlopeCost(c, sd * sd) : new MeanVarCost(c);
  const cost = (from: number, to: number) =>
    new SumCost(columns.map((c, i) => make(c.subarray(from, to), sds[i] ?? 1)));
  return inWindows(cost, rows, window, changePrice(shape, rows * size, columns.length), shape === 'mean' ? 3 : 8);
}

/** Changes found between blocks, moved to the row that divides their neighbours best. */
function placed(columns: readonly Float64Array[], found: Explanation, size: number): number[] {
  const make = (c: Float64Array) =>
    found.shape === 'line' ? new SlopeCost(c) : found.shape === 'mean-var' ? new MeanVarCost(c) : new MeanCost(c);
  const edges = [0, ...found.changepoints.map((b) => b * size), columns[0]?.length ?? 0];
  const out: number[] = [];
  for (let i = 1; i + 1 < edges.length; i++) {
    const from = out[i - 2] ?? 0;
    const to = edges[i + 1] ?? 0;
    const at = edges[i] ?? 0;
    const parts = columns.map((c) => scaled(c, from, to));
    const cost = found.shape === 'mean-cov' ? new MeanCovCost(parts) : new SumCost(parts.map(make));
    let best = at;
    let least = Infinity;
    for (let cut = Math.max(at - 2 * size, from + 4); cut <= Math.min(at + 2 * size, to - 4); cut++) {
      const c = costOf(cost, [cut - from]);
      if (c < least) {
        least = c;
        best = cut;
      }
    }
    out.push(best);
  }
  return out;
}

/** Rows from..to in units of their own spread, so that columns weigh alike. */
function scaled(c: Float64Array, from: number, to: number): Float64Array {
  const part = c.slice(from, to);
  const sd = Math.sqrt(new MeanCost(part).between(0, part.length) / part.length);
  return sd > 0 ? part.map((v) => v / sd) : part;
}
