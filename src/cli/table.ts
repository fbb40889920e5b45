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
  const text = read.includes('\n') ? read : read.replaceAll('\r', '\n');
  const firstLine = text.slice(0, text.search(/[\r\n]|$/));
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
    return readFileSync(file === '-' ? 0 : file, 'utf8');
  } catch (error) {
    if (error instanceof Error && 'code' in error && error.code === 'EISDIR')
      throw new Problem('table.folder', { file: name }, { cause: error });
    throw new Problem('table.unreadable', {
      file: name,
      detail: causeOf(error),
    });
  }
}

/**
 * Column names as given: each `--columns` is one name, or several with commas between; none: the only one there is
 * beside that of the time. Throws WrongUse.
 */
export function columnNames(table: Table, given: readonly string[], time?: string): string[] {
  const rest = table.header.filter((name) => name !== time);
  const asked = given.length === 0 && rest.length === 1 ? rest : given;
  const names = asked.flatMap((g) => (table.header.includes(g) ? [g] : g.split(',').map((n) => n.trim())));
  if (names.length === 0)
    throw new WrongUse(`Which columns? ${table.name} has: ${inShort(table.header)}. Use --columns NAME.`);
  for (const name of names) {
    if (table.header.indexOf(name) !== table.header.lastIndexOf(name))
      throw new WrongUse(`${table.name} has several columns "${name}". Give each a name of its own.`);
    if (table.header.includes(name)) continue;
    const near = nearest(name, table.header);
    const meant = near ? ` Did you mean "${near}"?` : '';
    // Numbers where names should be: a row of data in the place of the header.
    const isData = table.header.every((cell) => cell !== '' && Number.isFinite(Number(cell)));
    const head = isData ? ' Its first line holds numbers: put a line with the names of the columns above it.' : '';
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

/** One column as numbers; null where a cell is missing. `toNumber` may read more than plain numbers. Throws Problem. */
export function columnOf(table: Table, name: string, toNumber: (text: string) => number = Number): (number | null)[] {
  const at = table.header.indexOf(name);
  return table.rows.map((row, i) => {
    const text = (row[at] ?? '').trim();
    if (missing.has(text.toLowerCase())) return null;
    const plain = table.hasDecimalComma && /^[-+]?\d*,\d+(e[-+]?\d+)?$/i.test(text) ? text.replace(',', '.') : text;
    const value = toNumber(plain);
    if (Number.isFinite(value)) return value;
    throw new Problem('table.not-a-number', { file: table.name, row: i, column: name, found: text.slice(0, 40) });
  });
}

/** A time cell: a number, or a date and time that the system can read (as seconds since 1970). */
export function timeNumber(text: string): number {
  const value = Number(text);
  return Number.isFinite(value) ? value : Date.parse(text) / 1000;
}
