import { basename } from 'node:path';
import { type RunEvent, runEventSchema } from '../core/job/event.ts';
import type { Message } from '../core/message/message.ts';
import { Problem } from '../core/message/problem.ts';
import { mostUnusable } from './cell-faults.ts';
import { csvCell, csvNumber, type CsvRow, guardText, parseCsv, unguardText } from './csv.ts';
import { maxTimeS } from './samples-csv.ts';
import { wholeText } from './text-file.ts';

export const eventColumns = ['time_s', 'event', 'emitter', 'note'] as const;
const maxBytes = 64 << 20;

/** A row that cannot be used. */
export interface BadRow {
  readonly line: number;
  /** Its place among the rows, the header not counted, from 0. */
  readonly at: number;
  readonly text: string;
  readonly problem: Problem;
}

export interface EventsFile {
  /** In time order; of equal times the first of the file first. */
  readonly events: RunEvent[];
  /** Line of each event. */
  readonly lines: number[];
  /** Rows that were left out, in the order of the file; each is told in the remarks. */
  readonly leftOut: readonly BadRow[];
  readonly remarks: Message[];
  readonly bytes: number;
  readonly sha256: string;
}

/**
 * events.csv. Unknown events are kept. A row that cannot be used costs itself alone, as a tap that was never made, and is
 * told with its line. Throws Problem with line and column for what cannot be left out honestly: a header that is wrong,
 * quotation marks that leave open where a row ends, more bad rows than good ones.
 */
export function readEvents(path: string): EventsFile {
  const file = basename(path);
  const { text, bytes, sha256 } = wholeText(path, maxBytes);
  const firstLine = text.slice(0, text.indexOf('\n') < 0 ? text.length : text.indexOf('\n'));
  const separator = !firstLine.includes(',') && firstLine.includes(';') ? ';' : ',';
  const [head, ...rows] = parseCsv(text, separator, file);
  const remarks: Message[] = [];
  const header = head?.cells.map((name) => name.trim()) ?? [];
  const at = columnsAt(header, separator, file, remarks);
  const read: { event: RunEvent; line: number }[] = [];
  const leftOut: BadRow[] = [];
  for (const [i, row] of rows.entries()) {
    const { line, cells } = row;
    const event = row.isTorn
      ? new Problem('recording-quote-text', { file, line })
      : readRow(row, at, header.length, file);
    if (!(event instanceof Problem)) read.push({ event, line });
    // Over several lines a row may have swallowed others by a quotation mark that went astray.
    else if (row.isTorn || row.breaks > 0) throw event;
    else leftOut.push({ line, at: i, text: cells.map(csvCell).join(','), problem: event });
  }
  remarks.push(...leftOutRemarks(leftOut, rows.length, file));
  const unordered = read.filter((r, i) => r.event.timeS < (read[i - 1]?.event.timeS ?? 0)).length;
  if (unordered > 0) remarks.push({ code: 'recording-events-unordered', params: { file, count: unordered } });
  read.sort((a, b) => a.event.timeS - b.event.timeS);
  return { events: read.map((r) => r.event), lines: read.map((r) => r.line), leftOut, remarks, bytes, sha256 };
}

/** Where each of our columns stands. */
function columnsAt(header: readonly string[], separator: string, file: string, remarks: Message[]): number[] {
  const at = eventColumns.map((column) => {
    const found = header.join(separator).slice(0, 200);
    const i = header.indexOf(column);
    if (i < 0)
      throw new Problem('recording-header', { file, line: 1, column, found, expected: eventColumns.join(',') });
    if (header.indexOf(column, i + 1) >= 0) throw new Problem('recording-header-twice', { file, line: 1, column });
    return i;
  });
  const strange = header.filter((name) => !eventColumns.some((column) => column === name));
  if (strange.length > 0)
    remarks.push({ code: 'recording-columns-ignored', params: { file, found: strange.join(', ') } });
  return at;
}

/** Bad rows that are told one by one; of more only how many. */
const toldOneByOne = 10;

/** What is wrong with each, then what it means. Throws the first Problem of rows that are mostly bad. */
function leftOutRemarks(leftOut: readonly BadRow[], rows: number, file: string): Message[] {
  const first = leftOut[0];
  if (!first) return [];
  if (leftOut.length > mostUnusable * rows) throw first.problem;
  const each = leftOut.slice(0, toldOneByOne).map(({ problem: { code, params } }) => ({ code, params }));
  return [...each, { code: 'recording-events-left-out', params: { file, count: leftOut.length, line: first.line } }];
}

function readRow(row: CsvRow, at: readonly number[], width: number, file: string): RunEvent | Problem {
  const { line, cells } = row;
  if (cells.length !== width)
    return new Problem('recording-row-width', { file, line, found: cells.length, expected: width });
  const params = { file, line, column: 'time_s' };
  const [time = '', event = '', emitter = '', note = ''] = at.map((i) => cells[i] ?? '');
  const timeS = Number(time.trim().replace(',', '.'));
  if (time.trim() === '') return new Problem('recording-time-missing', params);
  // Number() also reads 0x1f, 0b1 and 0o7.
  if (!Number.isFinite(timeS) || /^[+-]?0[xob]/i.test(time.trim()))
    return new Problem('recording-not-a-number', { ...params, found: time.slice(0, 40) });
  // A run may wait for months for its last event, its seal: there is no bound above.
  if (timeS < 0) return new Problem('recording-time-range', { ...params, found: timeS, max: maxTimeS });
  const candidate = { timeS, event: event.trim(), emitter: unguardText(emitter), note: unguardText(note) };
  const checked = runEventSchema.safeParse(candidate);
  if (checked.success) return checked.data;
  const column = String(checked.error.issues[0]?.path[0]);
  if (column === 'event') return new Problem('recording-event-name', { file, line, column, found: event.slice(0, 60) });
  const [found, max] = column === 'emitter' ? [emitter.length, 64] : [note.length, 2000];
  return new Problem('recording-text-long', { file, line, column, found, max });
}

/** One row of events.csv without its line end. */
export function eventRow(event: RunEvent): string {
  const { timeS, event: name, emitter, note } = event;
  return [csvNumber(timeS), name, csvCell(guardText(emitter)), csvCell(guardText(note))].join(',');
}
