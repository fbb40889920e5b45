import { glrThreshold } from './arl.ts';
import { Course, sureSlope } from './course.ts';
import { Feature, furthestFor, longestDated, stretches, traceOf, wildest } from './feature.ts';

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

/**
 * Watches several columns at once for a change of any mean, any spread, or of how columns go together, against the
 * first rows of the table: a window-limited likelihood ratio for each column's mean, for each column's row-to-row
 * spread, and for the Mahalanobis distance. One threshold for all, from the false-alarm budget shared among them.
 * After a declaration the new regime is learned and watched in its turn. What a line since the last change explains better than
 * a step is no change: the line is the regime from there on, so that a ramp is told once, and its end. Causal; bounded memory and
 * cost per row.
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
  private changes = 0;
  private scale: { sd: number; spread: number[] }[] = [];
  /** Rows of the present regime so far, and each column's course through them, in units of its noise from its first level on. */
  private age = 0;
  private courses: { of: Course; from: number; unit: number }[] = [];

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
      this.age++;
      if (this.held.length >= this.needed) this.learn();
      this.last = values;
      return null;
    }
    const derived = this.derive(values, this.last, this.age);
    this.last = values;
    if (this.held.length < this.growTo) this.held.push([...values]);
    let level = 0;
    let loudest: Feature | null = null;
    for (const [j, f] of this.features.entries()) {
      f.push(derived[j] ?? 0, this.age);
      const top = f.top();
      if (top <= level) continue;
      level = top;
      loudest = f;
    }
    this.follow(values, this.age);
    this.age++;
    const bound = this.margin * studentBound(this.threshold, this.learned);
    if (loudest && level > bound) {
      const rows = loudest.dated(this.learned);
      return this.isRamp(loudest, rows, bound) ? null : this.declare(row, rows);
    }
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
    this.age = this.held.length;
    this.changes += 1;
    this.learned = 0;
    if (this.held.length >= this.needed) this.learn();
    return { saidRow: row, onsetRow };
  }

  /** Whether the feature is a column's move from row to row. */
  private isMove(j: number): boolean {
    return j >= this.columns && j < 2 * this.columns;
  }

  /** Take a row into the courses of its columns; a wild value counts as far as it may. */
  private follow(values: readonly number[], age: number): void {
    this.courses.forEach((course, j) => course.of.add(age, this.inCourse(j, values[j] ?? 0, age)));
  }

  private inCourse(j: number, value: number, age: number): number {
    const f = this.features[j];
    const course = this.courses[j];
    if (!f || !course) return 0;
    return (f.mean + f.slope * age + f.sd * f.standard(value, age) - course.from) / course.unit;
  }

  /** Whether what stands out in the last rows is a ramp; each column that it explains is held against its line from now on. */
  private isRamp(loudest: Feature, rows: number, bound: number): boolean {
    const at = this.features.indexOf(loudest);
    if (this.isMove(at)) return false;
    const asked = at < this.columns ? [at] : this.courses.map((_, j) => j);
    const said = asked.map((j) => ({ j, is: this.explains(j, rows, bound) }));
    if (said.some((s) => s.is === 'step') || !said.some((s) => s.is === 'line')) return false;
    for (const { j, is } of said) if (is === 'line') this.adopt(j);
    if (this.joint) this.again(2 * this.columns, (values, age) => Math.log1p(this.distance(values, age)));
    return true;
  }

  /**
   * What explains a column since its last change: one line, a step before the last `rows`, or what is held already. A level is
   * told from a line by the squares that each leaves; a line is left for two when these gain `leaveLine` of what an alarm asks.
   */
  private explains(j: number, rows: number, bound: number): 'line' | 'step' | 'neither' {
    const f = this.features[j];
    const course = this.courses[j];
    if (!f || !course) return 'neither';
    const after = new Course();
    this.recent.slice(-rows).forEach((r, i) => {
      const age = this.age - rows + i;
      after.add(age, this.inCourse(j, r.values[j] ?? 0, age));
    });
    const before = course.of.without(after);
    const line = course.of.aboutLine();
    const isLine = f.slope !== 0;
    const cut = isLine ? before.aboutLine() + after.aboutLine() : before.aboutMean() + after.aboutMean();
    const held = { level: (f.mean - course.from) / course.unit, slope: f.slope / course.unit };
    const asked = (bound * f.memoryOf(rows, this.learned) * (f.sd / course.unit)) ** 2;
    if (course.of.aboutLine(held) - Math.min(line, cut) < 0.5 * asked) return 'neither';
    return line < cut + (isLine ? leaveLine * asked : 0) ? 'line' : 'step';
  }

  private adopt(j: number): void {
    const f = this.features[j];
    const course = this.courses[j];
    if (!f || !course) return;
    const { level, slope } = course.of.line();
    const values = this.held.map((r) => r[j] ?? 0);
    const known = sureSlope(values);
    // A slope in the rows that were learned from had counted for noise.
    if (known !== 0 && f.slope === 0 && this.changes === 0) {
      f.learn(values, known);
      this.scale[j] = { sd: f.sd, spread: [...f.spread] };
    }
    f.mean = course.from + course.unit * level;
    f.slope = course.unit * slope;
    this.again(j, (values) => values[j] ?? 0);
  }

  /** Look at the last rows of the regime anew, as they stand now. */
  private again(j: number, valueOf: (values: readonly number[], age: number) => number): void {
    const rows = this.recent.slice(-this.age);
    this.features[j]?.clear();
    rows.forEach((r, i) => {
      const age = this.age - rows.length + i;
      this.features[j]?.push(valueOf(r.values, age), age);
    });
  }

  private derive(values: readonly number[], before: readonly number[] | null, age: number): number[] {
    const out = [...values];
    for (let j = 0; j < this.columns; j++) {
      const move = Math.abs((values[j] ?? 0) - (before?.[j] ?? values[j] ?? 0));
      out.push(Math.log(move + (this.floors[j] ?? 1e-12)));
    }
    if (this.joint) out.push(Math.log1p(this.distance(values, age)));
    return out;
  }

  private floors: number[] = [];

  private distance(values: readonly number[], age: number): number {
    const z = values.map((v, j) => this.features[j]?.standard(v, age) ?? 0);
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
    for (let j = 0; j < this.columns; j++) {
      const values = rows.map((r) => r[j] ?? 0);
      // The first rows are the normal regime: a slope in so few of them would be drawn on for ever.
      this.features[j]?.learn(values, this.first ? 0 : sureSlope(values));
    }
    if (this.first) {
      // Moves far under the usual one are all alike: the floor keeps their logarithm from running away.
      this.floors = Array.from({ length: this.columns }, (_, j) => {
        const moves = rows.slice(1).map((r, i) => Math.abs((r[j] ?? 0) - (rows[i]?.[j] ?? 0)));
        const mean = moves.reduce((s, v) => s + v, 0) / Math.max(1, moves.length);
        return mean > 0 ? 0.2 * mean : traceOf(this.features[j]?.mean ?? 0);
      });
      if (this.joint) this.inverse = this.inverseCovariance();
    }
    const derived = rows.map((r, i) => this.derive(r, i > 0 ? (rows[i - 1] ?? null) : null, i)).slice(1);
    for (let j = this.columns; j < this.features.length; j++) this.features[j]?.learn(derived.map((d) => d[j] ?? 0));
    this.features.forEach((f, j) => this.temper(f, j, rows.length));
    this.first = false;
    this.learned = rows.length;
    this.courses = this.features.slice(0, this.columns).map((f) => ({ of: new Course(), from: f.mean, unit: f.sd }));
    rows.forEach((r, i) => this.follow(r, i));
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
    const z = this.held.map((r, i) => r.map((v, j) => this.features[j]?.standard(v, i) ?? 0));
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

/** Less, and a line that is drawn on beyond the few rows it was learned from would be left by chance. */
const leaveLine = 0.75;

/** A scale learned from n rows widens the threshold as the likelihood ratio of Student's t asks. */
function studentBound(b: number, n: number): number {
  return Math.sqrt((n - 1) * Math.expm1((b * b) / n));
}
