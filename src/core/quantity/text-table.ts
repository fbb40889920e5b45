/** One thing wrong in a table: where (line from 1, the header being line 1; column by name), what was found and expected. */
export interface TableFault {
  readonly line: number;
  readonly column: string;
  readonly found: string;
  readonly expected: string;
}

/** Rows of a table as text: one line a row, cells parted by `;` or `,`; quotes hold what parts. */
export function rowsOfText(text: string): string[][] {
  const clean = text.replace(/^\uFEFF/, '');
  const mark = (clean.split('\n', 1)[0] ?? '').includes(';') ? ';' : ',';
  const rows: string[][] = [];
  let row: string[] = [];
  let cell = '';
  let quoted = false;
  for (let i = 0; i < clean.length; i++) {
    const c = clean[i] ?? '';
    if (quoted) {
      if (c !== '"') cell += c;
      else if (clean[i + 1] === '"') {
        cell += '"';
        i++;
      } else quoted = false;
    } else if (c === '"' && cell === '') quoted = true;
    else if (c === mark) {
      row.push(cell);
      cell = '';
    } else if (c === '\n') {
      rows.push([...row, cell.replace(/\r$/, '')]);
      row = [];
      cell = '';
    } else cell += c;
  }
  if (cell !== '' || row.length > 0) rows.push([...row, cell.replace(/\r$/, '')]);
  return rows;
}

/** Rows as text that `rowsOfText` reads back. */
export function textOfRows(rows: readonly (readonly string[])[]): string {
  const quote = (cell: string): string => (/[",;\r\n]/.test(cell) ? `"${cell.replaceAll('"', '""')}"` : cell);
  return `${rows.map((row) => row.map(quote).join(',')).join('\n')}\n`;
}

/** A plain number with a decimal point or comma; null for anything else, thousands marks included. */
export function plainNumber(text: string): number | null {
  return /^[+-]?\d+(?:[.,]\d+)?$/.test(text) ? Number(text.replace(',', '.')) : null;
}

/** What a header lacks, doubles or holds that nobody knows. */
export function headerFaults(
  header: readonly string[],
  known: readonly string[],
  needed: readonly string[],
): TableFault[] {
  const out: TableFault[] = [];
  for (const [i, h] of header.entries()) {
    if (!known.includes(h)) out.push({ line: 1, column: h, found: h, expected: `one of ${known.join(', ')}` });
    else if (header.indexOf(h) !== i)
      out.push({ line: 1, column: h, found: `${h} twice`, expected: 'each column once' });
  }
  for (const name of needed)
    if (!header.includes(name)) out.push({ line: 1, column: name, found: 'no such column', expected: name });
  return out;
}
