import { basename } from 'node:path';
import type { Message } from '../core/message/message.ts';
import { Problem } from '../core/message/problem.ts';
import { type Channel, channels } from '../core/quantity/channels.ts';
import { roundToChannel, type Sample, sampleKeys, sampleOf } from '../core/quantity/sample.ts';
import { CellFaults } from './cell-faults.ts';
import { splitLine } from './csv.ts';
import { readPlainNumbers } from './number-row.ts';
import { eachLine, type Line } from './text-file.ts';

/** The columns that every recording.csv of ours has; cells may be empty. The others of channels.ts follow when present. */
export const requiredColumns: readonly string[] = [
  'time_s',
  'turbidity_ntu',
  'flow_lpm',
  'pressure_bar',
  'temperature_c',
  'conductivity_us_cm',
];

/** Without these there is nothing to analyse; the others may be absent, and are then missing values. */
const neededColumns: readonly string[] = ['time_s', 'turbidity_ntu'];

/** Longer than any run; a Unix time is above it. */
export const maxTimeS = 1e7;
const limits = { maxBytes: 1 << 30, maxLineLength: 65536 };
const maxRows = 5_000_000;
/** A sensor's noise about the end of its range (flow about zero), as a share of the range. */
const slack = 0.005;

export interface SamplesFile {
  readonly samples: Sample[];
  readonly remarks: Message[];
  readonly bytes: number;
  readonly sha256: string;
}

interface Header {
  readonly separator: ',' | ';';
  readonly width: number;
  readonly timeAt: number;
  /** Channel of each column, or null for one that is not ours. */
  readonly byColumn: readonly (Channel | null)[];
}

function readHeader(line: string, file: string, remarks: Message[]): Header {
  const separator = !line.includes(',') && line.includes(';') ? ';' : ',';
  const names = splitLine(line, separator, file, 1).map((name) => name.trim());
  const at = new Map<string, number>();
  for (const [i, column] of names.entries()) {
    if (at.has(column) && (requiredColumns.includes(column) || channels.some((c) => c.column === column)))
      throw new Problem('recording-header-twice', { file, line: 1, column });
    at.set(column, i);
  }
  for (const column of neededColumns)
    if (!at.has(column)) {
      const found = names.join(separator).slice(0, 200);
      throw new Problem('recording-header', { file, line: 1, column, found, expected: requiredColumns.join(',') });
    }
  const absent = requiredColumns.filter((column) => !at.has(column));
  if (absent.length > 0) remarks.push({ code: 'recording-columns-absent', params: { file, found: absent.join(', ') } });
  const byColumn = names.map((name) => channels.find((c) => c.column === name) ?? null);
  const strange = names.filter((name, i) => name !== 'time_s' && !byColumn[i]);
  if (strange.length > 0)
    remarks.push({ code: 'recording-columns-ignored', params: { file, found: strange.join(', ') } });
  return { separator, width: names.length, timeAt: at.get('time_s') ?? 0, byColumn };
}

/** A column of ours: where it stands in the row, and in `sampleKeys`. */
interface Column {
  readonly channel: Channel;
  readonly at: number;
  readonly place: number;
}

interface Slight {
  count: number;
  readonly line: number;
}

/** Reads rows one by one; what is odd but usable is counted. */
class RowReader {
  readonly samples: Sample[] = [];
  readonly lines: number[] = [];
  unordered = 0;
  firstUnordered = 0;
  /** Of the rows out of order, those that stand earlier than the row right before them. */
  falls = 0;
  /** The row that the first of them came after: its time is later than theirs. */
  latestBefore: { readonly line: number; readonly timeS: number } | null = null;
  decimalCommas = 0;
  readonly slight = new Map<Channel, Slight>();
  readonly faults: CellFaults;
  /** Values read, by place of the column. */
  readonly #read: Float64Array;
  readonly #file: string;
  readonly #header: Header;
  /** Of the row at hand: a number for each column, NaN for an empty cell. */
  readonly #cells: Float64Array;
  /** Of the row at hand: what is kept of each channel, in the order of `sampleKeys`. */
  readonly #kept = new Float64Array(sampleKeys.length);
  readonly #columns: readonly Column[];
  #latest = { line: 0, timeS: Number.NEGATIVE_INFINITY };
  #lastS = Number.NEGATIVE_INFINITY;
  /** Why the time of the row at hand is no number. */
  #badTime: Problem | null = null;

  constructor(file: string, header: Header) {
    this.#file = file;
    this.faults = new CellFaults(file);
    this.#header = header;
    this.#cells = new Float64Array(header.width);
    this.#read = new Float64Array(header.width);
    this.#columns = header.byColumn.flatMap((channel, at) =>
      channel ? [{ channel, at, place: sampleKeys.indexOf(channel.key) }] : [],
    );
  }

  /** Null when read; the widths when the row has too few cells. */
  row(line: Line): { found: number; expected: number } | null {
    const { separator, width } = this.#header;
    if (readPlainNumbers(line, separator.charCodeAt(0), this.#cells) !== width) {
      const { text } = line;
      if (text.trim() === '') return null;
      const cells = splitLine(text, separator, this.#file, line.number);
      if (cells.length < width) return { found: cells.length, expected: width };
      if (cells.length > width) {
        this.leaveOut(line.number, { found: cells.length, expected: width });
        return null;
      }
      this.#readCells(cells, line.number);
    }
    this.#keep(line.number);
    return null;
  }

  /** Values read of each of our columns. */
  readings(): Map<string, number> {
    return new Map(this.#header.byColumn.flatMap((c, i) => (c ? [[c.column, this.#read[i] ?? 0]] : [])));
  }

  /** A row with another number of cells than the header has. */
  leaveOut(line: number, widths: { found: number; expected: number }): void {
    this.faults.row(new Problem('recording-row-width', { file: this.#file, line, ...widths }));
  }

  #readCells(cells: readonly string[], line: number): void {
    const { byColumn, timeAt } = this.#header;
    for (const [i, cell] of cells.entries()) {
      const column = i === timeAt ? 'time_s' : byColumn[i]?.column;
      if (column) this.#cells[i] = this.#number(cell, column, line);
    }
  }

  #number(cell: string, column: string, line: number): number {
    const text = cell.trim();
    if (text === '') return Number.NaN;
    let value = Number(text);
    if (!Number.isFinite(value) && this.#header.separator === ';' && text.includes(',')) {
      value = Number(text.replace(',', '.'));
      if (Number.isFinite(value)) this.decimalCommas += 1;
    }
    // Number() also reads 0x1f, 0b1 and 0o7.
    if (Number.isFinite(value) && !/^[+-]?0[xob]/i.test(text)) return value;
    const hint = /^\d+,\d+$/.test(text) ? ' with a decimal point' : '';
    const params = { file: this.#file, line, column, found: text.slice(0, 40), hint };
    if (column !== 'time_s') this.faults.cell(column, new Problem('recording-not-a-number', params));
    else this.#badTime = new Problem('recording-not-a-number', params);
    return Number.NaN;
  }

  /** The row at hand as a sample. */
  #keep(line: number): void {
    const cells = this.#cells;
    const kept = this.#kept;
    const timeS = cells[this.#header.timeAt] ?? Number.NaN;
    const wrong = this.#badTime ?? this.#wrongTime(timeS, line);
    this.#badTime = null;
    if (wrong) {
      this.faults.row(wrong);
      return;
    }
    kept.fill(Number.NaN);
    for (const { channel, at, place } of this.#columns) {
      const value = cells[at] ?? Number.NaN;
      if (Number.isNaN(value)) continue;
      const believed = this.#value(value, channel, line);
      kept[place] = believed;
      if (!Number.isNaN(believed)) this.#read[at] = (this.#read[at] ?? 0) + 1;
    }
    if (timeS < this.#latest.timeS) {
      this.unordered += 1;
      if (timeS < this.#lastS) this.falls += 1;
      if (this.unordered === 1) this.firstUnordered = line;
      this.latestBefore ??= this.#latest;
    } else this.#latest = { line, timeS };
    this.#lastS = timeS;
    if (this.samples.length >= maxRows) {
      const params = { file: this.#file, found: `over ${maxRows} rows`, expected: `${maxRows} rows` };
      throw new Problem('recording-too-large', params);
    }
    this.samples.push(sampleOf(timeS, kept));
    this.lines.push(line);
  }

  #wrongTime(timeS: number, line: number): Problem | null {
    if (timeS >= 0 && timeS <= maxTimeS) return null;
    const params = { file: this.#file, line, column: 'time_s' };
    if (Number.isNaN(timeS)) return new Problem('recording-time-missing', params);
    return new Problem('recording-time-range', { ...params, found: timeS, max: maxTimeS });
  }

  /** As it is kept; NaN where it cannot be meant. */
  #value(value: number, channel: Channel, line: number): number {
    const { column, min, max, unit, decimals } = channel;
    if (value < min || value > max) {
      const room = slack * (max - min);
      if (value < min - room || value > max + room) {
        const params = { file: this.#file, line, column, found: value, min, max, unit };
        this.faults.cell(column, new Problem('recording-absurd', params));
        return Number.NaN;
      }
      const known = this.slight.get(channel);
      if (known) known.count += 1;
      else this.slight.set(channel, { count: 1, line });
    }
    return roundToChannel(value, decimals);
  }
}

/** So many rows behind each fall of the time: they are in order among themselves. */
const leapRows = 10;

/** Rows in time order, each time once; of doubled times the first row of the file wins. */
function inOrder(reader: RowReader, file: string, remarks: Message[]): Sample[] {
  const { samples, unordered, firstUnordered, falls, latestBefore } = reader;
  // One row whose time leapt ahead puts all behind it out of order: that row is the fault, not they.
  if (latestBefore && unordered > leapRows * falls)
    remarks.push({
      code: 'recording-time-leaps',
      params: { file, count: unordered, line: latestBefore.line, found: latestBefore.timeS },
    });
  else if (unordered > 0)
    remarks.push({ code: 'recording-rows-unordered', params: { file, count: unordered, line: firstUnordered } });
  const sorted = unordered > 0 ? [...samples].sort((a, b) => a.timeS - b.timeS) : samples;
  if (!sorted.some((row, i) => row.timeS === sorted[i - 1]?.timeS)) return sorted;
  const kept: Sample[] = [];
  let doubled = 0;
  let firstDoubled: Sample | null = null;
  for (const row of sorted) {
    if (kept.at(-1)?.timeS === row.timeS) {
      doubled += 1;
      firstDoubled ??= row;
    } else kept.push(row);
  }
  if (firstDoubled) {
    const line = reader.lines[samples.indexOf(firstDoubled)] ?? 0;
    remarks.push({ code: 'recording-rows-doubled', params: { file, count: doubled, line } });
  }
  return kept;
}

/**
 * recording.csv as samples. Tolerant of what spreadsheets and loggers do (order of columns, more columns, `;`, CR LF,
 * byte order mark, empty lines, doubled and disordered rows, single bad cells and rows, absent columns: each remarked on);
 * Problem with line and column for what cannot be meant. Values are rounded to their channel's resolution, as those of a live kit are.
 */
export function readSamples(path: string): SamplesFile {
  return readRows(path, inOrder);
}

/** late.csv as samples: the same columns, rows in the order in which they came. Throws Problem as `readSamples`. */
export function readLate(path: string): SamplesFile {
  return readRows(path, (reader) => reader.samples);
}

type Order = (reader: RowReader, file: string, remarks: Message[]) => Sample[];

function readRows(path: string, order: Order): SamplesFile {
  const file = basename(path);
  const remarks: Message[] = [];
  let reader: RowReader | null = null;
  let cut: number | null = null;
  const { bytes, sha256 } = eachLine(path, limits, (line) => {
    if (!reader) {
      const { text } = line;
      if (text.trim() !== '') reader = new RowReader(file, readHeader(text, file, remarks));
      return;
    }
    const short = reader.row(line);
    if (short === null) return;
    if (line.isEnded) reader.leaveOut(line.number, short);
    else cut = line.number;
  });
  return { ...finish(reader, order, cut, file, remarks), bytes, sha256 };
}

function finish(
  reader: RowReader | null,
  order: Order,
  cut: number | null,
  file: string,
  remarks: Message[],
): { samples: Sample[]; remarks: Message[] } {
  if (!reader) throw new Problem('recording-empty', { file });
  remarks.push(...reader.faults.judge(reader.samples.length, reader.readings()));
  if (reader.samples.length === 0) throw new Problem('recording-empty', { file });
  const samples = order(reader, file, remarks);
  if (cut !== null) remarks.push({ code: 'recording-last-line-cut', params: { file, line: cut } });
  if (reader.decimalCommas > 0)
    remarks.push({ code: 'recording-decimal-comma', params: { file, count: reader.decimalCommas } });
  for (const [{ column, min, max, unit }, { count, line }] of reader.slight)
    remarks.push({ code: 'recording-outside-slightly', params: { file, column, min, max, unit, count, line } });
  return { samples, remarks };
}
