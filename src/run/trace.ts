import type { Sample } from '../core/quantity/sample.ts';
import { type TraceRow, traceColumns } from '../server/protocol.ts';

const width = traceColumns.length;

/** What is plotted of one sample, in the order of `traceColumns`. */
export function traceRow(sample: Sample, backgroundNtu: number | null, clearLevelNtu: number | null): TraceRow {
  return [
    sample.timeS,
    sample.turbidityNtu,
    sample.flowLpm,
    sample.pressureBar,
    sample.supplyC,
    sample.returnC,
    sample.conductivityUsCm,
    sample.turbidityOutNtu,
    backgroundNtu,
    clearLevelNtu,
  ];
}

/**
 * The plotted past in memory: one flat array used as a ring, so that hours at 10 Hz cost a few megabytes and adding a
 * row costs nothing. A missing value is held as NaN inside and given out as null.
 */
export class Trace {
  private cells = new Float64Array(4096 * width);
  private first = 0;
  private length = 0;
  private readonly capacity: number;

  /** @param capacity rows kept, nearly three hours at 10 Hz; the oldest are forgotten (they stay in the store). */
  constructor(capacity = 100_000) {
    this.capacity = capacity;
  }

  get rows(): number {
    return this.length;
  }

  /** Time of the oldest row held, or null when there is none. */
  get firstS(): number | null {
    return this.length === 0 ? null : this.timeAt(0);
  }

  add(row: TraceRow): void {
    if (this.length === this.cells.length / width) this.grow();
    const at = this.offset(this.length);
    for (let c = 0; c < width; c++) this.cells[at + c] = row[c] ?? Number.NaN;
    if (this.length < this.cells.length / width) this.length += 1;
    else this.first = (this.first + 1) % (this.cells.length / width);
  }

  /** Doubles the array until the capacity is reached; then the ring turns. */
  private grow(): void {
    const rows = this.cells.length / width;
    if (rows >= this.capacity) return;
    const cells = new Float64Array(Math.min(rows * 2, this.capacity) * width);
    for (let i = 0; i < this.length; i++) {
      const from = this.offset(i);
      cells.set(this.cells.subarray(from, from + width), i * width);
    }
    this.cells = cells;
    this.first = 0;
  }

  private offset(i: number): number {
    return ((this.first + i) % (this.cells.length / width)) * width;
  }

  private timeAt(i: number): number {
    return this.cells[this.offset(i)] ?? 0;
  }

  private rowAt(i: number): TraceRow {
    const at = this.offset(i);
    const cell = (c: number): number | null => {
      const value = this.cells[at + c];
      return value === undefined || Number.isNaN(value) ? null : value;
    };
    return [this.timeAt(i), cell(1), cell(2), cell(3), cell(4), cell(5), cell(6), cell(7), cell(8), cell(9)];
  }

  /** Index of the first row at or after `timeS`. */
  private indexOf(timeS: number): number {
    let lo = 0;
    let hi = this.length;
    while (lo < hi) {
      const mid = (lo + hi) >>> 1;
      if (this.timeAt(mid) < timeS) lo = mid + 1;
      else hi = mid;
    }
    return lo;
  }

  /** Rows with fromS <= timeS <= toS, oldest first. */
  between(fromS: number, toS: number): TraceRow[] {
    const rows: TraceRow[] = [];
    for (let i = this.indexOf(fromS); i < this.length && this.timeAt(i) <= toS; i++) rows.push(this.rowAt(i));
    return rows;
  }
}

/** Late samples in their places among rows that rise in time; of doubled times the row that was there stays. */
export function withLate(rows: TraceRow[], late: readonly Sample[]): TraceRow[] {
  if (late.length === 0) return rows;
  const times = new Set(rows.map((row) => row[0]));
  const more = late.filter((s) => !times.has(s.timeS)).map((s) => traceRow(s, null, null));
  return [...rows, ...more].sort((a, b) => a[0] - b[0]);
}

/**
 * At most about `points` rows: the span is cut into stretches of equally many rows, and each stretch gives two rows
 * that hold, column by column, its smallest and its largest value in the order in which they came. So no spike is ever
 * hidden. A stretch in which a column has a gap shows the gap only if the column is missing throughout.
 */
export function decimate(rows: readonly TraceRow[], points: number): TraceRow[] {
  if (rows.length <= points) return [...rows];
  const size = Math.ceil(rows.length / Math.max(1, Math.floor(points / 2)));
  const out: TraceRow[] = [];
  for (let from = 0; from < rows.length; from += size) out.push(...stretch(rows.slice(from, from + size)));
  return out;
}

function stretch(rows: readonly TraceRow[]): TraceRow[] {
  const first = rows[0];
  const last = rows.at(-1);
  if (!first || !last || rows.length < 3) return [...rows];
  const low: TraceRow = [...first];
  const high: TraceRow = [...last];
  for (let c = 1; c < width; c++) {
    const [a, b] = extremes(rows, c);
    low[c] = a;
    high[c] = b;
  }
  return [low, high];
}

/** Smallest and largest value of a column, the one that came first given first; nulls when all are missing. */
function extremes(rows: readonly TraceRow[], c: number): [number | null, number | null] {
  let min: number | null = null;
  let max: number | null = null;
  let minAt = 0;
  let maxAt = 0;
  rows.forEach((row, i) => {
    const value = row[c] ?? null;
    if (value === null) return;
    if (min === null || value < min) [min, minAt] = [value, i];
    if (max === null || value > max) [max, maxAt] = [value, i];
  });
  return minAt <= maxAt ? [min, max] : [max, min];
}
