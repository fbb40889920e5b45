import { headerFaults, plainNumber, rowsOfText, type TableFault, textOfRows } from '../quantity/text-table.ts';
import { type Limit, limitOf, type LimitSet, testItemNames, testItems } from './limits.ts';

export const limitColumns = ['item', 'least', 'most', 'over_mains', 'over_mains_percent', 'origin'] as const;

const fields = {
  least: 'least',
  most: 'most',
  over_mains: 'overMains',
  over_mains_percent: 'overMainsPercent',
} as const;

/**
 * A set of limits from a table in text, header first: one row an item, bounds in the item's own unit, `over_mains` and
 * `over_mains_percent` counted from the mains reading, `origin` printed beside it. All faults are told at once.
 */
export function limitsFromText(
  text: string,
  name: string,
): { readonly set: LimitSet | null; readonly faults: readonly TableFault[] } {
  const rows = rowsOfText(text);
  const header = (rows[0] ?? []).map((h) => h.trim().toLowerCase());
  const faults = headerFaults(header, limitColumns, ['item']);
  const limits: Limit[] = [];
  if (faults.length === 0)
    for (const [i, row] of rows.entries()) {
      if (i === 0 || row.every((c) => c.trim() === '')) continue;
      const limit = limitOfRow(header, row, i + 1, faults);
      if (limit && limits.some((l) => l.item === limit.item))
        faults.push({ line: i + 1, column: 'item', found: `${limit.item} twice`, expected: 'each item once' });
      else if (limit) limits.push(limit);
    }
  if (faults.length === 0 && limits.length === 0)
    faults.push({ line: 2, column: 'item', found: 'no limit', expected: 'at least one' });
  return { set: faults.length === 0 ? { name: name.slice(0, 100) || 'a table', limits } : null, faults };
}

function limitOfRow(
  header: readonly string[],
  row: readonly string[],
  line: number,
  faults: TableFault[],
): Limit | null {
  const cell = (column: string): string => (row[header.indexOf(column)] ?? '').trim();
  const item = testItemNames.find((n) => n === cell('item').toLowerCase());
  if (!item) {
    faults.push({
      line,
      column: 'item',
      found: cell('item') || 'nothing',
      expected: `one of ${testItemNames.join(', ')}`,
    });
    return null;
  }
  const data: Record<string, unknown> = { item, origin: cell('origin') };
  for (const [column, field] of Object.entries(fields)) {
    if (cell(column) === '') continue;
    const value = plainNumber(cell(column));
    const [low, high] = column === 'over_mains_percent' ? [0, 1000] : [testItems[item].low, testItems[item].high];
    if (value === null) faults.push({ line, column, found: cell(column), expected: 'a number' });
    else if (value < low || value > high)
      faults.push({ line, column, found: cell(column), expected: `${low} to ${high}` });
    else data[field] = value;
  }
  const { least, most } = data;
  if (typeof least === 'number' && typeof most === 'number' && least > most)
    faults.push({ line, column: 'most', found: String(most), expected: `at least ${least}` });
  const limit = limitOf(data);
  if (!limit && faults.length === 0)
    faults.push({ line, column: 'origin', found: `${cell('origin').length} characters`, expected: 'at most 300' });
  return limit;
}

/** The set as a table in text, to be kept and taken up in another run. */
export function textOfLimits(set: LimitSet): string {
  const figure = (value: number | undefined): string => (value === undefined ? '' : String(value));
  return textOfRows([
    [...limitColumns],
    ...set.limits.map((l) => [
      l.item,
      figure(l.least),
      figure(l.most),
      figure(l.overMains),
      figure(l.overMainsShare === undefined ? undefined : Math.round(1e6 * l.overMainsShare) / 1e4),
      l.origin,
    ]),
  ]);
}
