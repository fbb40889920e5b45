import { basename } from 'node:path';
import { type RunEvent, runEventSchema } from '../core/job/event.ts';
import type { Message } from '../core/message/message.ts';
import { Problem } from '../core/message/problem.ts';
import { csvCell, csvNumber, type CsvRow, guardText, parseCsv, unguardText } from './csv.ts';
import { wholeText } from './text-file.ts';

export const eventColumns = ['time_s', 'event', 'emitter', 'note'] as const;
const maxBytes = 64 << 20;

export interface EventsFile {
  /** In time order; of equal times the first of the file first. */
  readonly events: RunEvent[];
  /** Line of each event. */
  readonly lines: number[];
  readonly remarks: Message[];
  readonly bytes: number;
  readonly sha256: string;
}

/** events.csv. Unknown events are kept. Throws Problem with line and column. */
export function readEvents(path: string): EventsFile {
  const file = basename(path);
  const { text, bytes, sha256 } = wholeText(path, maxBytes);
  const firstLine = text.slice(0, text.indexOf('\n') < 0 ? text.length : text.indexOf('\n'));
  const separator = !firstLine.includes(',') && firstLine.includes(';') ? ';' : ',';
  const rows = parseCsv(text, separator, file);
  const header = rows[0]?.cells.map((name) => name.trim()) ?? [];
  const at = eventColumns.map((column) => {
    const found = header.join(separator).slice(0, 200);
    const i = header.indexOf(column);
    if (i < 0)
      throw new Problem('recording-header', { file, line: 1, column, found, expected: eventColumns.join(',') });
    return i;
  });
  const remarks: Message[] = [];
  const strange = header.filter((name) => !eventColumns.some((column) => column === name));
  if (strange.length > 0)
    remarks.push({ code: 'recording-columns-ignored', params: { file, found: strange.join(', ') } });
  const read = rows.slice(1).map((row) => ({ event: readRow(row, at, header.length, file), line: row.line }));
  const unordered = read.filter((r, i) => r.event.timeS < (read[i - 1]?.event.timeS ?? 0)).length;
  if (unordered > 0) remarks.push({ code: 'recording-events-unordered', params: { file, count: unordered } });
  read.sort((a, b) => a.event.timeS - b.event.timeS);
  return { events: read.map((r) => r.event), lines: read.map((r) => r.line), remarks, bytes, sha256 };
}

function readRow(row: CsvRow, at: readonly number[], width: number, file: string): RunEvent {
  const { line, cells } = row;
  if (cells.length !== width)
    throw new Problem('recording-row-width', { file, line, found: cells.length, expected: width });
  const [time = '', event = '', emitter = '', note = ''] = at.map((i) => cells[i] ?? '');
  const timeS = Number(time.trim().replace(',', '.'));
  if (time.trim() === '') throw new Problem('recording-time-missing', { file, line, column: 'time_s' });
  if (!Number.isFinite(timeS))
    throw new Problem('recording-not-a-number', { file, line, column: 'time_s', found: time.slice(0, 40) });
  const candidate = { timeS, event: event.trim(), emitter: unguardText(emitter), note: unguardText(note) };
  const checked = runEventSchema.safeParse(candidate);
  if (checked.success) return checked.data;
  const column = String(checked.error.issues[0]?.path[0]);
  if (column === 'timeS')
    throw new Problem('recording-time-range', { file, line, column: 'time_s', found: timeS, max: 1e7 });
  if (column === 'event') throw new Problem('recording-event-name', { file, line, column, found: event.slice(0, 60) });
  const [found, max] = column === 'emitter' ? [emitter.length, 64] : [note.length, 2000];
  throw new Problem('recording-text-long', { file, line, column, found, max });
}

/** One row of events.csv without its line end. */
export function eventRow(event: RunEvent): string {
  const { timeS, event: name, emitter, note } = event;
  return [csvNumber(timeS), name, csvCell(guardText(emitter)), csvCell(guardText(note))].join(',');
}
