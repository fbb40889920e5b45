import { Problem } from '../core/message/problem.ts';

/** The cells of one line without line breaks in its cells (RFC 4180 quotes allowed). Throws Problem. */
export function splitLine(line: string, separator: string, file: string, lineNumber: number): string[] {
  if (!line.includes('"')) return line.split(separator);
  const rows = parseCsv(line, separator, file, lineNumber);
  return rows[0]?.cells ?? [];
}

export interface CsvRow {
  readonly cells: string[];
  /** Line on which the row begins, from 1. */
  readonly line: number;
  /** Line breaks inside its cells. */
  readonly breaks: number;
  /** It begins in the middle of a line, after a closing quotation mark: where rows end there is a guess. */
  readonly isTorn: boolean;
}

/**
 * Rows of a CSV text by RFC 4180: quoted cells may hold the separator, quotes (doubled) and line breaks, which are kept
 * as they are. Rows end with LF or CR LF; empty lines are skipped. Text that follows a closing quote is a row of its
 * own, marked as torn. Throws Problem for a quote never closed.
 */
export function parseCsv(text: string, separator: string, file: string, firstLine = 1): CsvRow[] {
  const rows: CsvRow[] = [];
  let line = firstLine;
  let at = 0;
  let isTorn = false;
  while (at < text.length) {
    const from = line;
    const cells: string[] = [];
    for (;;) {
      const cell = text[at] === '"' ? quoted(text, at, file, line) : bare(text, at, separator);
      cells.push(cell.value);
      line += cell.breaks;
      at = cell.next;
      if (text[at] !== separator) break;
      at += 1;
    }
    const breaks = line - from;
    if (cells.length > 1 || cells[0]?.trim() !== '') rows.push({ cells, line: from, breaks, isTorn });
    if (text[at] === '\r' && text[at + 1] === '\n') at += 1;
    isTorn = text[at] !== '\n';
    if (text[at] === '\n') {
      line += 1;
      at += 1;
    }
  }
  return rows;
}

interface Cell {
  readonly value: string;
  readonly next: number;
  readonly breaks: number;
}

function bare(text: string, from: number, separator: string): Cell {
  let at = from;
  while (at < text.length) {
    const c = text[at];
    if (c === separator || c === '\n' || (c === '\r' && (text[at + 1] === '\n' || at + 1 === text.length))) break;
    at += 1;
  }
  // A carriage return at the very end of the text ends the last row, whose line feed was cut off.
  const next = text[at] === '\r' && at + 1 === text.length ? at + 1 : at;
  return { value: text.slice(from, at), next, breaks: 0 };
}

function quoted(text: string, from: number, file: string, line: number): Cell {
  let at = from + 1;
  for (;;) {
    const end = text.indexOf('"', at);
    if (end < 0) throw new Problem('recording-quote', { file, line });
    if (text[end + 1] !== '"') {
      const value = text.slice(from + 1, end).replaceAll('""', '"');
      return { value, next: end + 1, breaks: value.split('\n').length - 1 };
    }
    at = end + 2;
  }
}

/** A cell as written: quoted where it must be. */
export function csvCell(value: string): string {
  return /[",;\r\n]|^\s|\s$/.test(value) ? `"${value.replaceAll('"', '""')}"` : value;
}

/**
 * A number as written: the shortest decimals that read back as the same double (ECMAScript Number::toString); null is
 * an empty cell.
 */
export function csvNumber(value: number | null): string {
  if (value === null) return '';
  return Object.is(value, -0) ? '-0' : String(value);
}

/*
 * A spreadsheet takes a cell that begins with = + - @, a tab or a carriage return for a formula and may run it. Text
 * that begins so gets one apostrophe in front, which spreadsheets take for "this is text"; text that already begins
 * with apostrophes before such a sign gets one more, so that reading takes away exactly what writing put there.
 */
export function guardText(value: string): string {
  return /^'*[=+\-@\t\r]/.test(value) ? `'${value}` : value;
}

export function unguardText(value: string): string {
  return /^'+[=+\-@\t\r]/.test(value) ? value.slice(1) : value;
}
