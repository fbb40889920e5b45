import { causeOf } from '../core/message/cause.ts';
import { readFileSync } from 'node:fs';
import { nearest } from '../core/message/nearest.ts';
import { Problem } from '../core/message/problem.ts';
import { parseCsv } from '../recording/csv.ts';
import { WrongUse } from './command.ts';

/** Any table with a header: text cells by row. */
export interface Table {
  /** For people. */
  readonly name: string;
  readonly header: readonly string[];
  readonly rows: readonly (readonly string[])[];
  /** Decimal commas are numbers here, since the semicolon separates. */
  readonly hasDecimalComma: boolean;
}

/** Reads a table from a file, or from standard input when it is called `-`. `,`, `;` or a tab separates. Throws Problem. */
export function readTable(file: string): Table {
  const name = file === '-' ? 'standard input' : file;
  const read = readText(file, name).replace(/^\ufeff/, '');
  // Lines that end with CR alone, as old instruments write them.
  const lines = read.includes('\n') ? read : read.replaceAll('\r', '\n');
  // Notes that loggers and open data put above the header; one just above the data is the header. Their lines still count.
  const text = lines.replace(/^(?:#[^\n]*\n(?!["+\-.]*\d)|\r?\n)+/, (notes) => notes.replaceAll(/[^\n]/g, ''));
  const firstLine = /^[\r\n]*([^\r\n]*)/.exec(text)?.[1] ?? '';
  // A spreadsheet's own format, an archive, a picture.
  if (/(?![\t\n\v\f\r])\p{Cc}/u.test(firstLine)) throw new Problem('table.no-text', { file: name });
  const separator = [';', '\t'].find((s) => firstLine.includes(s)) ?? ',';
  const [head, ...body] = parseCsv(text, separator, name);
  if (!head) throw new Problem('table.empty', { file: name });
  const header = head.cells.map((cell) => cell.trim());
  const rows: (readonly string[])[] = [];
  let line = head.line;
  for (const row of body) {
    // In a table of one column a blank line is a row whose only cell is missing: rows keep their number.
    if (header.length === 1) for (line += 1; line < row.line; line++) rows.push(['']);
    line = row.line;
    if (row.cells.length > header.length)
      throw new Problem('table.wide', {
        file: name,
        line: row.line,
        found: row.cells.length,
        expected: header.length,
      });
    rows.push(row.cells);
  }
  return { name, header, rows, hasDecimalComma: separator !== ',' };
}

function readText(file: string, name: string): string {
  try {
    return decoded(readFileSync(file === '-' ? 0 : file));
  } catch (error) {
    if (error instanceof Error && 'code' in error && error.code === 'EISDIR')
      throw new Problem('table.folder', { file: name }, { cause: error });
    throw new Problem('table.unreadable', {
      file: name,
      detail: causeOf(error),
    });
  }
}

/** UTF-16 where its mark says so, else UTF-8, and what is not: Windows-1252, as spreadsheets and older loggers write. */
function decoded(bytes: Uint8Array): string {
  const mark = `${bytes[0]},${bytes[1]}`;
  if (mark === '255,254' || mark === '254,255')
    return new TextDecoder(mark === '255,254' ? 'utf-16le' : 'utf-16be').decode(bytes);
  try {
    return new TextDecoder('utf-8', { fatal: true }).decode(bytes);
  } catch {
    return new TextDecoder('windows-1252').decode(bytes);
  }
}

/** Numbers where names should be: a row of data in the place of the header. */
export function isHeaderless(table: Table): boolean {
  return table.header.every((cell) => cell !== '' && Number.isFinite(numberIn(table, cell)));
}

const putHeader = 'Its first line holds numbers: put a line with the names of the columns above it.';

/**
 * Column names as given: each `--columns` is one name, or several with commas between; none: the only one there is
 * beside that of the time. Throws WrongUse.
 */
export function columnNames(table: Table, given: readonly string[], time?: string): string[] {
  // A column without a name is the running number that a program wrote.
  const rest = table.header.filter((name) => name !== time && name !== '');
  const asked = given.length === 0 && rest.length === 1 ? rest : given;
  const names = asked.flatMap((g) => (table.header.includes(g) ? [g] : g.split(',').map((n) => n.trim())));
  if (names.length === 0)
    throw new WrongUse(
      isHeaderless(table)
        ? `${table.name} has no header. ${putHeader}`
        : `Which columns? ${table.name} has: ${inShort(rest)}. Use --columns NAME.`,
    );
  for (const name of names) {
    if (table.header.indexOf(name) !== table.header.lastIndexOf(name))
      throw new WrongUse(`${table.name} has several columns "${name}". Give each a name of its own.`);
    if (table.header.includes(name)) continue;
    const near = nearest(name, table.header);
    const meant = near ? ` Did you mean "${near}"?` : '';
    const head = isHeaderless(table) ? ` ${putHeader}` : '';
    throw new WrongUse(`${table.name} has no column "${name}".${meant}${head} It has: ${inShort(table.header)}.`);
  }
  return names;
}

/** As many names as one can read. */
const mostShown = 400;

function inShort(names: readonly string[]): string {
  const all = names.join(', ');
  return all.length > mostShown ? `${all.slice(0, mostShown)} … (${names.length} in all)` : all;
}

const missing = new Set(['', 'na', 'n/a', '#n/a', 'nan', 'null', 'none', '-', '--', '.', '?']);

/** One column as numbers; null where a cell is missing. Throws Problem. */
export function columnOf(table: Table, name: string): (number | null)[] {
  return cellsOf(table, name).map((text, row) => {
    if (text === null) return null;
    const value = numberIn(table, text);
    if (Number.isFinite(value)) return value;
    const found = text.slice(0, 40);
    throw new Problem('table.not-a-number', { file: table.name, row, column: name, found, hint: hintOn(text) });
  });
}

/** A column of times: numbers, or dates and times (as seconds since 1970). Throws Problem. */
export function timesOf(table: Table, name: string): (number | null)[] {
  const cells = cellsOf(table, name);
  // With slashes month or day comes first; one over 12 tells.
  const dayFirst = cells.some((text) => Number(/^(\d{1,2})\/\d{1,2}\/\d{4}/.exec(text ?? '')?.[1]) > 12);
  return cells.map((text, row) => {
    if (text === null) return null;
    const number = numberIn(table, text);
    const [, day, between, month, year, rest = ''] = /^(\d{1,2})([./])(\d{1,2})\2(\d{4})(.*)$/.exec(text) ?? [];
    const isDayFirst = year !== undefined && (between === '.' || dayFirst);
    const date = isDayFirst ? `${month}/${day}/${year}${rest}` : text;
    const value = Number.isFinite(number) ? number : Date.parse(date) / 1000;
    if (Number.isFinite(value)) return value;
    throw new Problem('table.no-time', { file: table.name, row, column: name, found: text.slice(0, 40) });
  });
}

function cellsOf(table: Table, name: string): (string | null)[] {
  const at = table.header.indexOf(name);
  return table.rows.map((row) => {
    const text = (row[at] ?? '').trim();
    return missing.has(text.toLowerCase()) ? null : text;
  });
}

function numberIn(table: Table, text: string): number {
  const isComma = table.hasDecimalComma && /^[-+]?\d*,\d+(e[-+]?\d+)?$/i.test(text);
  return Number(isComma ? text.replace(',', '.') : text);
}

/** What to do about a cell that is nearly a number. */
function hintOn(text: string): string {
  if (/^[-+]?\d+[,.]?\d*[|:]/.test(text)) return 'Separate cells by commas, semicolons or tabs.';
  if (/^[-+]?\d+,\d+$/.test(text)) return 'Write a decimal point, or separate cells by semicolons.';
  if (/^[-+]?\d{1,3}([\s\u00a0'.,]\d{3})+([.,]\d+)?$/.test(text)) return 'Take out what groups thousands.';
  if (/^[-+]?\d+([.,]\d+)?\s*[^\d\s.,]+$/.test(text)) return 'Leave the unit to the header.';
  return 'Leave the cell empty where a value is missing, or choose columns of numbers.';
}
