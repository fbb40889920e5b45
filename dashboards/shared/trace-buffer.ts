import { type TraceColumn, type TraceRow, traceColumns } from '../../src/server/protocol.ts';

const columnIndex: Readonly<Record<string, number>> = Object.fromEntries(traceColumns.map((name, i) => [name, i]));
const empty = new Float64Array(0);

/**
 * The rows that a page draws: one typed array per column, NaN for a missing value, a bounded span of time. New rows go
 * to the end; one that is not newer than the last is dropped, so that a row that comes by two ways is kept once.
 */
export class TraceBuffer {
  readonly #limit: number;
  readonly #columns: Float64Array[];
  #length = 0;
  #isClosed = false;

  /** @param limit Rows kept at least; the oldest beyond it go. */
  constructor(limit: number) {
    this.#limit = limit;
    this.#columns = traceColumns.map(() => new Float64Array(limit * 2));
  }

  get length(): number {
    return this.#length;
  }

  get lastS(): number | null {
    return this.#length === 0 ? null : this.at('timeS', this.#length - 1);
  }

  /** Value at a row; NaN where it is missing. */
  at(column: TraceColumn, index: number): number {
    return this.column(column)[index] ?? Number.NaN;
  }

  /** A whole column, for loops over many rows; what lies beyond `length` is not to be read. */
  column(column: TraceColumn): Float64Array {
    return this.#columns[columnIndex[column] ?? -1] ?? empty;
  }

  append(rows: readonly TraceRow[]): void {
    for (const row of rows) {
      if (this.#length > 0 && row[0] <= (this.lastS ?? Number.NEGATIVE_INFINITY)) continue;
      if (this.#length === this.#limit * 2) this.#dropOldest();
      for (let c = 0; c < this.#columns.length; c += 1) {
        const column = this.#columns[c];
        if (column) column[this.#length] = row[c] ?? Number.NaN;
      }
      this.#length += 1;
    }
  }

  /** No older row fits, or there is none. */
  get isFull(): boolean {
    return this.#isClosed || this.#length >= this.#limit * 2;
  }

  /** There is nothing older than the first row. */
  closeBefore(): void {
    this.#isClosed = true;
  }

  get firstS(): number | null {
    return this.#length === 0 ? null : this.at('timeS', 0);
  }

  /** Older rows before those that are there, as far as there is room; what is not older is dropped. */
  prepend(rows: readonly TraceRow[]): void {
    const before = this.firstS ?? Number.POSITIVE_INFINITY;
    const room = this.#limit * 2 - this.#length;
    const older = room <= 0 ? [] : rows.filter((row) => row[0] < before).slice(-room);
    for (let c = 0; c < this.#columns.length; c += 1) {
      const column = this.#columns[c];
      if (!column) continue;
      column.copyWithin(older.length, 0, this.#length);
      older.forEach((row, i) => {
        column[i] = row[c] ?? Number.NaN;
      });
    }
    this.#length += older.length;
  }

  /** Row nearest to a time that has a value in this column. */
  nearest(column: TraceColumn, timeS: number): { timeS: number; value: number } | null {
    const values = this.column(column);
    const has = (i: number) => !Number.isNaN(values[i] ?? Number.NaN);
    const from = this.indexAt(timeS);
    let after = from;
    while (after < this.#length && after < from + 60 && !has(after)) after += 1;
    let before = from - 1;
    while (before >= 0 && before > from - 60 && !has(before)) before -= 1;
    const found = [before, after].filter((i) => i >= 0 && i < this.#length && has(i));
    const away = (i: number) => Math.abs(this.at('timeS', i) - timeS);
    const nearest = found.sort((a, b) => away(a) - away(b))[0];
    return nearest === undefined ? null : { timeS: this.at('timeS', nearest), value: this.at(column, nearest) };
  }

  replace(rows: readonly TraceRow[]): void {
    this.#length = 0;
    this.#isClosed = false;
    this.append(rows);
  }

  /** First row at or after a time. */
  indexAt(timeS: number): number {
    const times = this.column('timeS');
    let lo = 0;
    let hi = this.#length;
    while (lo < hi) {
      const mid = (lo + hi) >>> 1;
      if ((times[mid] ?? Number.NaN) < timeS) lo = mid + 1;
      else hi = mid;
    }
    return lo;
  }

  /** Seconds between the newest rows: the median, and the ninth tenth, which tells how uneven they come. */
  get stepS(): { readonly median: number; readonly high: number } {
    const from = Math.max(1, this.#length - 60);
    const steps: number[] = [];
    for (let i = from; i < this.#length; i += 1) steps.push(this.at('timeS', i) - this.at('timeS', i - 1));
    steps.sort((a, b) => a - b);
    const at = (share: number) => steps[Math.floor(steps.length * share)] ?? 1;
    return { median: at(0.5), high: at(0.9) };
  }

  /** Newest row that has a value in this column. */
  lastOf(column: TraceColumn): { timeS: number; value: number } | null {
    const values = this.column(column);
    for (let i = this.#length - 1; i >= 0; i -= 1) {
      const value = values[i] ?? Number.NaN;
      if (!Number.isNaN(value)) return { timeS: this.at('timeS', i), value };
    }
    return null;
  }

  #dropOldest(): void {
    for (const column of this.#columns) column.copyWithin(0, this.#limit, this.#length);
    this.#length -= this.#limit;
  }
}
