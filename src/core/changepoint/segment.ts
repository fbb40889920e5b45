import { noiseSdByDifferences } from '../quantity/robust.ts';
import { MeanCost } from './cost-mean.ts';
import { explainTable } from './explain.ts';
import { fpop } from './fpop.ts';
import { SumCost } from './multivariate.ts';
import type { Partition } from './cost.ts';
import { byRule, type PenaltyRule } from './penalty.ts';
import { pelt } from './pelt.ts';
import { TableWatch } from './table-watch.ts';

/** A table as it came: equal numbers of rows, `null` where a cell is missing. */
export interface SegmentInput {
  readonly columns: readonly { readonly name: string; readonly values: readonly (number | null)[] }[];
  /** Time of each row, any unit, not going back; checked, and otherwise the order of the rows is what counts. */
  readonly time?: readonly (number | null)[];
  readonly method?: 'pelt' | 'online';
  /** Rows of the normal regime at the start (on-line); nothing is declared in them. Under 100 it grows while quiet. Default: 20. */
  readonly reference?: number;
  /**
   * Price of one change off-line, on the scale of twice the log likelihood in units of the noise, or the rule that finds it
   * (`byRule`); without it the data decide.
   */
  readonly penalty?: number | PenaltyRule;
}

export interface Segment {
  /** Half-open rows of the table. */
  readonly from: number;
  readonly to: number;
  /** Mean and standard deviation of the values present; with several columns one of each per column, in their order. */
  readonly mean: number | null | readonly (number | null)[];
  readonly sd: number | null | readonly (number | null)[];
}

export interface Segmentation {
  /** First row of each new regime, counted from 0 in the table as it came. */
  readonly changepoints: readonly number[];
  readonly segments: readonly Segment[];
  /** On-line only: row at which changepoints[i] was declared. */
  readonly alarms?: readonly number[];
}

/** Why a table could not be segmented; `code` names a sentence of message/changepoint.ts. */
export interface SegmentRefusal {
  readonly refused: { readonly code: string; readonly params: Readonly<Record<string, string | number>> };
}

/**
 * Changes of any table. Off-line ('pelt', the default): see `explainTable`; with a penalty, the exact least cost of a
 * piecewise constant mean (robust for one column) at that price. On-line: see `TableWatch`; causal, so cutting the
 * table changes nothing said before the cut. Rows with a missing cell bring no news and keep their number; where they
 * are the most, each column is looked at alone (on-line: columns mostly missing in the first rows are left out).
 */
export function segment(input: SegmentInput): Segmentation | SegmentRefusal {
  const rows = input.columns[0]?.values.length ?? 0;
  const refused = refusal(input, rows);
  if (refused) return { refused };
  if (input.method === 'online') return online(input, rows);
  const changepoints = offline(input, rows);
  return { changepoints, segments: describe(input, changepoints, rows) };
}

type Column = SegmentInput['columns'][number];

/** Rows in which every one of the columns has a value. */
function wholeRows(columns: readonly Column[], rows: number): number[] {
  const kept: number[] = [];
  for (let r = 0; r < rows; r++) if (columns.every((c) => c.values[r] !== null)) kept.push(r);
  return kept;
}

/** Share of the rows with any value that whole rows must make up, or each column is looked at alone. */
const wholeShare = 0.5;

function offline(input: SegmentInput, rows: number): readonly number[] {
  const columns = input.columns.filter((c) => c.values.some((v) => v !== null));
  const kept = wholeRows(columns, rows);
  let some = 0;
  for (let r = 0; r < rows; r++) if (columns.some((c) => c.values[r] !== null)) some += 1;
  if (columns.length === 1 || kept.length >= wholeShare * some) return changesOf(columns, kept, input.penalty);
  const all = columns.flatMap((c) => changesOf([c], wholeRows([c], rows), input.penalty)).sort((a, b) => a - b);
  // Two columns that change together are rarely dated to the very row.
  const apart = Math.max(3, Math.min(10, Math.round(rows / 40)));
  return all.filter((row, i) => i === 0 || row - (all[i - 1] ?? 0) >= apart);
}

function changesOf(columns: readonly Column[], kept: readonly number[], penalty: SegmentInput['penalty']): number[] {
  const values = columns.map((c) => withinReach(Float64Array.from(kept, (r) => c.values[r] ?? 0)));
  const found = penalty === undefined ? explainTable(values) : atPrice(values, penalty);
  return found.map((i) => kept[i] ?? 0);
}

function refusal(input: SegmentInput, rows: number): SegmentRefusal['refused'] | null {
  if (input.columns.length === 0) return { code: 'segment-no-columns', params: {} };
  for (const c of input.columns) {
    if (c.values.length !== rows)
      return { code: 'segment-uneven', params: { column: c.name, rows: c.values.length, expected: rows } };
    const bad = c.values.findIndex((v) => v !== null && !Number.isFinite(v));
    if (bad >= 0) return { code: 'segment-not-finite', params: { column: c.name, row: bad } };
  }
  if (rows === 0) return { code: 'segment-no-rows', params: {} };
  if (typeof input.penalty === 'number' && !(input.penalty >= 0 && Number.isFinite(input.penalty)))
    return { code: 'segment-penalty', params: { penalty: String(input.penalty) } };
  const most = mostPriced(input.penalty);
  if (input.columns.length > 1 && rows > most)
    return { code: 'segment-penalty-long', params: { columns: input.columns.length, rows, most } };
  const n = input.reference;
  if (n !== undefined && !(Number.isInteger(n) && n >= 8))
    return { code: 'segment-reference', params: { reference: String(n) } };
  let before = -Infinity;
  for (const [row, t] of (input.time ?? []).entries()) {
    if (t === null) continue;
    if (!(t >= before)) return { code: 'segment-time', params: { row } };
    before = t;
  }
  return null;
}

/** Rows of several columns up to which a price is worked out: its time grows with their square, and a rule solves many times. */
function mostPriced(penalty: SegmentInput['penalty']): number {
  if (penalty === undefined) return Number.POSITIVE_INFINITY;
  return typeof penalty === 'number' || penalty === 'bic' ? 50_000 : 20_000;
}

/**
 * A long column is rounded to a 16th of its noise, which adds a 3000th to the variance: at a high price every value leaves
 * two edges in what functional pruning keeps under a cap, and values that are alike share theirs.
 */
const coarseFrom = 10_000;
const coarse = 16;

function atPrice(columns: readonly Float64Array[], penalty: number | PenaltyRule): readonly number[] {
  const rows = columns[0]?.length ?? 0;
  const at = (parameters: number, solve: (price: number) => Partition): readonly number[] =>
    (typeof penalty === 'number' ? solve(penalty) : byRule(penalty, rows, parameters, solve)).changepoints;
  const noise = columns.map((c) => noiseSdByDifferences(c));
  const used = columns.flatMap((c, j) => ((noise[j] ?? 0) > 0 ? [{ c, sd: noise[j] ?? 1 }] : []));
  const only = used[0];
  if (!only) {
    // No noise at all: every step is a change, and any price below its worth finds it.
    const stepped = columns.filter((c) => c.some((v) => v !== c[0]));
    if (stepped.length === 0) return [];
    const cost = new SumCost(stepped.map((c) => new MeanCost(c)));
    return at(stepped.length, (price) => pelt(cost, price));
  }
  // In units of the noise, whose square could vanish otherwise.
  const inNoise = used.map(({ c, sd }) => c.map((v) => v / sd));
  if (inNoise.length === 1) {
    const values = rows > coarseFrom ? inNoise[0]?.map((v) => Math.round(v * coarse) / coarse) : inNoise[0];
    return at(1, (price) => fpop(values ?? only.c, { penalty: price, cap: 3 }));
  }
  const cost = new SumCost(inNoise.map((c) => new MeanCost(c)));
  return at(used.length, (price) => pelt(cost, price));
}

/** A shorter reference cannot tell its own scatter well: it grows while all is quiet, and a rarer false alarm is not asked of it. */
const shortReference = 100;

function online(input: SegmentInput, rows: number): Segmentation {
  const reference = input.reference ?? 20;
  // A column that is mostly missing from the first rows on would leave no whole rows to watch.
  const present = (c: Column) => c.values.slice(0, reference).filter((v) => v !== null).length;
  const watched = input.columns.filter((c) => present(c) >= wholeShare * Math.min(reference, rows));
  const columns = watched.length > 0 ? watched : input.columns;
  const kept = wholeRows(columns, rows);
  // Rows without a missing cell among them; too few, and the first ones after take their place.
  const whole = Math.max(8, kept.filter((r) => r < reference).length);
  const watch = new TableWatch(columns.length, {
    reference: whole,
    ...(reference < shortReference ? { growTo: 320, arl: 1000, margin: 1.1 } : {}),
  });
  // By the first rows alone: what comes later must not change what was said before.
  const units = columns.map((c) => unitOf(c.values.slice(0, reference)));
  const changepoints: number[] = [];
  const alarms: number[] = [];
  for (const r of kept) {
    const alarm = watch.step(
      columns.map((c, j) => (c.values[r] ?? 0) / (units[j] ?? 1)),
      r,
    );
    if (!alarm || alarm.saidRow < reference) continue;
    // Back-dated, but never into the reference or behind a change already told.
    const least = Math.max(reference, (changepoints[changepoints.length - 1] ?? -1) + 1);
    changepoints.push(Math.max(least, alarm.onsetRow));
    alarms.push(alarm.saidRow);
  }
  return { changepoints, alarms, segments: describe(input, changepoints, rows) };
}

function describe(input: SegmentInput, changepoints: readonly number[], rows: number): Segment[] {
  const edges = [0, ...changepoints, rows];
  return edges.slice(1).map((to, i) => {
    const from = edges[i] ?? 0;
    const all = input.columns.map((c) => summary(c.values.slice(from, to)));
    const first = all[0] ?? { mean: null, sd: null };
    if (all.length === 1) return { from, to, mean: first.mean, sd: first.sd };
    return { from, to, mean: all.map((s) => s.mean), sd: all.map((s) => s.sd) };
  });
}

function summary(values: readonly (number | null)[]): { mean: number | null; sd: number | null } {
  const unit = unitOf(values);
  let n = 0;
  let mean = 0;
  let m2 = 0;
  for (const v of values) {
    if (v === null) continue;
    n++;
    const d = v / unit - mean;
    mean += d / n;
    m2 += d * (v / unit - mean);
  }
  return n === 0 ? { mean: null, sd: null } : { mean: mean * unit, sd: n > 1 ? Math.sqrt(m2 / (n - 1)) * unit : 0 };
}

/**
 * Power of two in which values are small enough for sums of their squares, and large enough for these not to vanish: dividing by it
 * rounds nothing. 1 for all but extreme values.
 */
function unitOf(values: ArrayLike<number | null>): number {
  let most = 0;
  for (let i = 0; i < values.length; i++) most = Math.max(most, Math.abs(values[i] ?? 0));
  if (most === 0 || (most > 1e-100 && most < 1e100)) return 1;
  return 2 ** Math.max(-1000, Math.floor(Math.log2(most)));
}

/** Changes do not depend on the scale. */
function withinReach(values: Float64Array): Float64Array {
  const unit = unitOf(values);
  return unit === 1 ? values : values.map((v) => v / unit);
}
