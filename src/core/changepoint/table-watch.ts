import { madSd, median } from '../quantity/robust.ts';
import { glrThreshold } from './arl.ts';

export interface TableWatchSettings {
  /** First rows: the normal regime. Nothing is declared in them. */
  readonly reference: number;
  /** While quiet, each regime's reference grows to this many rows by doublings. Default: as long as the reference. */
  readonly growTo?: number;
  /** Mean rows between false alarms of the whole table, noise as in the reference. Default 20000. */
  readonly arl?: number;
  /** Over the theory's threshold, for what it does not know: scales are estimates, tails are heavy. Default 1.2. */
  readonly margin?: number;
}

export interface TableAlarm {
  /** Row at which it was declared, and the first row of the new regime as best known then. */
  readonly saidRow: number;
  readonly onsetRow: number;
}

/** Stretches that are looked at, rows; nothing shorter than three rows declares, so a lone spike cannot. */
const stretches = [3, 4, 5, 7, 10, 14, 20, 28, 40, 56, 80] as const;

/** How far back an onset may be dated, rows. */
const longestDated = 120;

/** A standardised value further out than this counts as this far at most: a wild value weighs no more than a clear one. */
const furthest = 6;

/** Share of the bound that one wild value may come to in the shortest stretch: it must not declare. */
const wildShare = 0.6;

/** How far a value counts: as a wild one may, and where a short reference asks for much evidence, as far as five rows need to declare. */
function furthestFor(bound: number, rows: number): number {
  return Math.max(Math.min(furthest, wildest(bound, rows)), 1.1 * bound * Math.sqrt(1 / 5 + 1 / rows));
}

/** How far all wild rows of the shortest stretch together may lie. */
function wildest(bound: number, rows: number): number {
  const [least] = stretches;
  return wildShare * bound * least * Math.sqrt(1 / least + 1 / rows);
}

/** Noise of a column that never moved: a billionth of its level. */
function traceOf(mean: number): number {
  return 1e-9 * Math.max(1e-3, Math.abs(mean));
}

/** One derived series: standardised by its reference, with the reference's own memory in the weights. */
class Feature {
  mean = 0;
  sd = 1;
  /** Standard deviation of the mean of a stretch, in sd of one value, per stretch: learned, so memory is in it. */
  spread: number[] = [];
  furthest = furthest;
  readonly sums: Float64Array;
  count = 0;

  constructor(size: number) {
    this.sums = new Float64Array(size);
  }

  learn(values: readonly number[]): void {
    this.mean = median(values);
    let sd = madSd(values);
    const plain = Math.sqrt(values.reduce((s, v) => s + (v - this.mean) ** 2, 0) / Math.max(1, values.length - 1));
    // Half the plain deviation is the least that a MAD is believed: a coarse converter has a MAD of nought.
    sd = Math.max(sd, 0.5 * plain);
    // Noise that was seen is believed down to rounding; a column that never moved is given a trace of it.
    sd = sd > 0 ? Math.max(sd, 1e-15 * Math.abs(this.mean)) : traceOf(this.mean);
    this.sd = sd;
    const z = values.map((v) => this.standard(v));
    this.mean += sd * (z.reduce((s, v) => s + v, 0) / z.length);
    this.spread = spreads(values.map((v) => this.standard(v)));
  }

  standard(v: number): number {
    const z = (v - this.mean) / this.sd;
    return Math.max(-this.furthest, Math.min(this.furthest, z));
  }

  push(v: number): void {
    const mask = this.sums.length - 1;
    const sum = (this.sums[this.count & mask] ?? 0) + this.standard(v);
    this.count++;
    this.sums[this.count & mask] = sum;
  }

  clear(): void {
    this.count = 0;
    this.sums[0] = 0;
  }

  /** Rows since the change, at a declaration: the stretch of any length that stands out most. */
  dated(n: number): number {
    const mask = this.sums.length - 1;
    const now = this.sums[this.count & mask] ?? 0;
    let level = 0;
    let rows = 1;
    let i = 0;
    for (let k = 1; k <= Math.min(this.count, longestDated); k++) {
      while (i + 1 < stretches.length && (stretches[i + 1] ?? 0) <= k) i++;
      const factor = (this.spread[i] ?? 1) / Math.sqrt(1 / (stretches[i] ?? 1) + 1 / n);
      const z = Math.abs(now - (this.sums[(this.count - k) & mask] ?? 0)) / (k * factor * Math.sqrt(1 / k + 1 / n));
      if (z <= level) continue;
      level = z;
      rows = k;
    }
    return rows;
  }

  /** Greatest standardised stretch mean that ends now. */
  top(): number {
    const mask = this.sums.length - 1;
    const now = this.sums[this.count & mask] ?? 0;
    let level = 0;
    for (let i = 0; i < stretches.length; i++) {
      const k = stretches[i] ?? 1;
      if (k > this.count) break;
      const mean = (now - (this.sums[(this.count - k) & mask] ?? 0)) / k;
      const z = Math.abs(mean) / (this.spread[i] ?? 1);
      if (z > level) level = z;
    }
    return level;
  }
}

/**
 * Standard deviation of stretch means of the reference, per stretch length: at least what white noise gives, never
 * falling faster than seen, and with the uncertainty of the reference mean itself. Where the reference is too short
 * for a length (under eight stretches), the trend of the shorter ones goes on.
 */
function spreads(z: readonly number[]): number[] {
  const n = z.length;
  const sums = [0];
  for (const v of z) sums.push((sums[sums.length - 1] ?? 0) + v);
  const whole = Math.max(1, Math.sqrt(z.reduce((s, v) => s + v * v, 0) / n));
  const out: number[] = [];
  let factor = whole;
  let growth = 1;
  for (const k of stretches) {
    if (n >= 8 * k) {
      let s = 0;
      let m = 0;
      for (let i = 0; i + k <= n; i++) {
        s += (((sums[i + k] ?? 0) - (sums[i] ?? 0)) / k) ** 2;
        m++;
      }
      const seen = Math.max(factor, Math.sqrt((s / m) * k));
      growth = out.length > 0 ? Math.min(1.25, seen / factor) : 1;
      factor = seen;
    } else factor *= growth;
    out.push(factor * Math.sqrt(1 / k + 1 / n));
  }
  return out;
}

/**
 * Watches several columns at once for a change of any mean, any spread, or of how columns go together, against the
 * first rows of the table: a window-limited likelihood ratio for each column's mean, for each column's row-to-row
 * spread, and for the Mahalanobis distance. One threshold for all, from the false-alarm budget shared among them.
 * After a declaration the new regime is learned and watched in its turn. Causal; bounded memory and cost per row.
 */
export class TableWatch {
  private readonly columns: number;
  private readonly reference: number;
  private readonly threshold: number;
  private readonly margin: number;
  private readonly features: Feature[];
  private readonly joint: boolean;
  private inverse: number[][] = [];
  private held: number[][] = [];
  private recent: { row: number; values: readonly number[] }[] = [];
  private last: readonly number[] | null = null;
  /** Rows behind the present regime's estimates; 0 while they are being gathered. */
  private learned = 0;
  private needed: number;
  private readonly growTo: number;
  private first = true;
  private scale: { sd: number; spread: number[] }[] = [];

  constructor(columns: number, settings: TableWatchSettings) {
    if (!(settings.reference >= 8))
      throw new RangeError(`The reference needs at least 8 rows; got ${settings.reference}.`);
    this.columns = columns;
    this.reference = settings.reference;
    this.needed = settings.reference;
    this.growTo = settings.growTo ?? settings.reference;
    this.joint = columns > 1 && settings.reference >= 8 * columns;
    const count = 2 * columns + (this.joint ? 1 : 0);
    const longest = stretches[stretches.length - 1] ?? 1;
    const least = stretches[0] ?? 1;
    this.margin = settings.margin ?? 1.2;
    this.threshold = glrThreshold((settings.arl ?? 20000) * count, longest, least, 'two');
    this.features = Array.from({ length: count }, () => new Feature(128));
  }

  /** Take one whole row (finite numbers). */
  step(values: readonly number[], row: number): TableAlarm | null {
    this.recent.push({ row, values });
    if (this.recent.length > longestDated) this.recent.shift();
    if (this.learned === 0) {
      this.held.push([...values]);
      if (this.held.length >= this.needed) this.learn();
      this.last = values;
      return null;
    }
    const derived = this.derive(values, this.last);
    this.last = values;
    if (this.held.length < this.growTo) this.held.push([...values]);
    let level = 0;
    let loudest: Feature | null = null;
    for (const [j, f] of this.features.entries()) {
      f.push(derived[j] ?? 0);
      const top = f.top();
      if (top <= level) continue;
      level = top;
      loudest = f;
    }
    const bound = this.margin * studentBound(this.threshold, this.learned);
    if (loudest && level > bound) return this.declare(row, loudest.dated(this.learned));
    if (this.held.length >= 2 * this.learned && level < 0.6 * bound) this.learn();
    return null;
  }

  private declare(row: number, rows: number): TableAlarm {
    const from = this.recent.length - rows;
    const onsetRow = this.recent[from]?.row ?? row;
    const kept = this.recent.slice(from);
    // The new regime: a part of the reference's length is enough to know its means, the noise being known already.
    this.needed = Math.max(20, Math.min(60, Math.round(this.reference / 4)));
    this.held = kept.slice(-this.needed).map((r) => [...r.values]);
    this.learned = 0;
    if (this.held.length >= this.needed) this.learn();
    return { saidRow: row, onsetRow };
  }

  /** Whether the feature is a column's move from row to row. */
  private isMove(j: number): boolean {
    return j >= this.columns && j < 2 * this.columns;
  }

  private derive(values: readonly number[], before: readonly number[] | null): number[] {
    const out = [...values];
    for (let j = 0; j < this.columns; j++) {
      const move = Math.abs((values[j] ?? 0) - (before?.[j] ?? values[j] ?? 0));
      out.push(Math.log(move + (this.floors[j] ?? 1e-12)));
    }
    if (this.joint) out.push(Math.log1p(this.distance(values)));
    return out;
  }

  private floors: number[] = [];

  private distance(values: readonly number[]): number {
    const z = values.map((v, j) => this.features[j]?.standard(v) ?? 0);
    let sum = 0;
    for (let i = 0; i < z.length; i++)
      for (let j = 0; j < z.length; j++) sum += (z[i] ?? 0) * (this.inverse[i]?.[j] ?? 0) * (z[j] ?? 0);
    return Math.max(0, sum);
  }

  private learn(): void {
    const rows = this.held;
    const bound = this.margin * studentBound(this.threshold, rows.length);
    const far = furthestFor(bound, rows.length);
    // A lone wild value makes two moves.
    const farMove = wildest(bound, rows.length) / 2;
    this.features.forEach((f, j) => (f.furthest = this.isMove(j) ? farMove : far));
    for (let j = 0; j < this.columns; j++) this.features[j]?.learn(rows.map((r) => r[j] ?? 0));
    if (this.first) {
      // Moves far under the usual one are all alike: the floor keeps their logarithm from running away.
      this.floors = Array.from({ length: this.columns }, (_, j) => {
        const moves = rows.slice(1).map((r, i) => Math.abs((r[j] ?? 0) - (rows[i]?.[j] ?? 0)));
        const mean = moves.reduce((s, v) => s + v, 0) / Math.max(1, moves.length);
        return mean > 0 ? 0.2 * mean : traceOf(this.features[j]?.mean ?? 0);
      });
      if (this.joint) this.inverse = this.inverseCovariance();
    }
    const derived = rows.map((r, i) => this.derive(r, i > 0 ? (rows[i - 1] ?? null) : null)).slice(1);
    for (let j = this.columns; j < this.features.length; j++) this.features[j]?.learn(derived.map((d) => d[j] ?? 0));
    this.features.forEach((f, j) => this.temper(f, j, rows.length));
    this.first = false;
    this.learned = rows.length;
  }

  /** A later regime is never taken for quieter than the reference was: its few rows cannot show that. */
  private temper(f: Feature, j: number, n: number): void {
    f.clear();
    if (this.first) {
      this.scale[j] = { sd: f.sd, spread: [...f.spread] };
      return;
    }
    const normal = this.scale[j];
    if (!normal) return;
    const ratio = Math.max(1, normal.sd / f.sd);
    f.sd *= ratio;
    f.spread = f.spread.map((s, i) => {
      const k = stretches[i] ?? 1;
      const reference = (normal.spread[i] ?? 0) / Math.sqrt(1 / k + 1 / this.reference);
      return Math.max(s / ratio, reference * Math.sqrt(1 / k + 1 / n));
    });
  }

  private inverseCovariance(): number[][] {
    const d = this.columns;
    const z = this.held.map((r) => r.map((v, j) => this.features[j]?.standard(v) ?? 0));
    const a = Array.from({ length: d }, (_, i) =>
      Array.from({ length: 2 * d }, (_, j) => {
        if (j >= d) return j - d === i ? 1 : 0;
        const c = z.reduce((s, r) => s + (r[i] ?? 0) * (r[j] ?? 0), 0) / z.length;
        // A ridge: columns that copy one another must not make a direction of no spread at all.
        return c + (i === j ? 0.02 : 0);
      }),
    );
    // Gauss-Jordan; a covariance with a ridge needs no pivoting.
    for (let c = 0; c < d; c++) {
      const head = a[c]?.[c] ?? 1;
      const pivot = (a[c] ?? []).map((v) => v / head);
      a[c] = pivot;
      for (let r = 0; r < d; r++) {
        const f = a[r]?.[c] ?? 0;
        if (r !== c) a[r] = (a[r] ?? []).map((v, j) => v - f * (pivot[j] ?? 0));
      }
    }
    return a.map((r) => r.slice(d));
  }
}

/** A scale learned from n rows widens the threshold as the likelihood ratio of Student's t asks. */
function studentBound(b: number, n: number): number {
  return Math.sqrt((n - 1) * Math.expm1((b * b) / n));
}
