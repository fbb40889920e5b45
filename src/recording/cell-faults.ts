import type { Message } from '../core/message/message.ts';
import { Problem } from '../core/message/problem.ts';

interface Fault {
  count: number;
  readonly first: Problem;
}

/** More of a column, or of the rows, than this cannot be read: then it is no slip but another unit or another table. */
export const mostUnusable = 0.5;

/**
 * What of a recording.csv could not be used. One bad cell must not cost a whole recording: it becomes a missing value, a
 * row without a usable time or with another number of cells is left out, and each is counted and told with its first place.
 */
export class CellFaults {
  readonly #file: string;
  readonly #columns = new Map<string, Fault>();
  #rows: Fault | null = null;

  constructor(file: string) {
    this.#file = file;
  }

  cell(column: string, problem: Problem): void {
    const known = this.#columns.get(column);
    if (known) known.count += 1;
    else this.#columns.set(column, { count: 1, first: problem });
  }

  row(problem: Problem): void {
    if (this.#rows) this.#rows.count += 1;
    else this.#rows = { count: 1, first: problem };
  }

  /**
   * Remarks on all of it. Throws the first Problem of what is mostly unusable.
   * @param rows that were read
   * @param readings values of each column that were read
   */
  judge(rows: number, readings: ReadonlyMap<string, number>): Message[] {
    const remarks: Message[] = [];
    const lost = this.#rows;
    if (lost) {
      if (lost.count > mostUnusable * (rows + lost.count)) throw lost.first;
      const { line = 0 } = lost.first.params;
      remarks.push({ code: 'recording-rows-left-out', params: { file: this.#file, count: lost.count, line } });
    }
    for (const [column, { count, first }] of this.#columns) {
      if (count > mostUnusable * (count + (readings.get(column) ?? 0))) throw first;
      const { line = 0, found = '' } = first.params;
      remarks.push({ code: 'recording-cells-left-out', params: { file: this.#file, column, count, line, found } });
    }
    return remarks;
  }
}
