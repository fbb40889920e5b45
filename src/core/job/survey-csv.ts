import { headerFaults, plainNumber, type TableFault } from '../quantity/text-table.ts';
import { surveySchema, type Survey } from './survey.ts';

export const surveyColumns = [
  'kind',
  'id',
  'name',
  'room',
  'floor',
  'type',
  'material',
  'litres',
  'length_mm',
  'height_mm',
  'sections',
  'inner_mm',
  'tube',
  'length_m',
  'ways',
  'run',
] as const;
type Column = (typeof surveyColumns)[number];

const kinds = ['system', 'emitter', 'run', 'other', 'rig'] as const;
type Kind = (typeof kinds)[number];

const numeric: ReadonlySet<Column> = new Set<Column>([
  'floor',
  'litres',
  'length_mm',
  'height_mm',
  'sections',
  'inner_mm',
  'length_m',
  'ways',
]);

/** What each column fills in each kind of row; a column that is not named here must be empty in that kind. */
const fields: Readonly<Record<Exclude<Kind, 'system'>, Readonly<Partial<Record<Column, string>>>>> = {
  emitter: {
    id: 'id',
    name: 'name',
    room: 'room',
    floor: 'floor',
    type: 'type',
    material: 'material',
    litres: 'litres',
    length_mm: 'lengthMm',
    height_mm: 'heightMm',
    sections: 'sections',
    inner_mm: 'innerMm',
    length_m: 'tubeM',
    run: 'run',
  },
  run: { id: 'id', tube: 'tube', inner_mm: 'innerMm', length_m: 'lengthM', ways: 'ways', run: 'towards' },
  other: { id: 'id', name: 'name', litres: 'litres' },
  rig: { id: 'id', name: 'name', litres: 'litres' },
};

type Cell = string | number | boolean;
type Cells = Readonly<Partial<Record<Column, string>>>;

/**
 * A survey from the rows of a table, header first. One row is one emitter, pipe run, other water (`other`), the rig
 * itself (`rig`), or the kind of system (`system`, with `sealed` or `open-vented` under type; sealed when absent).
 * Decimal comma or point. All faults are told at once, none is skipped over.
 */
export function surveyFromRows(rows: readonly (readonly string[])[]): {
  readonly survey: Survey | null;
  readonly faults: readonly TableFault[];
} {
  const header = (rows[0] ?? []).map((h) => h.trim().toLowerCase());
  const faults: TableFault[] = headerFaults(header, surveyColumns, ['kind', 'id']);
  if (faults.length > 0) return { survey: null, faults };
  const parts: Record<'emitters' | 'runs' | 'others', Record<string, Cell>[]> = {
    emitters: [],
    runs: [],
    others: [],
  };
  const lines: Record<'emitters' | 'runs' | 'others', number[]> = { emitters: [], runs: [], others: [] };
  let system = 'sealed';
  for (const [i, row] of rows.entries()) {
    if (i === 0 || row.every((c) => c.trim() === '')) continue;
    const line = i + 1;
    if (row.length > header.length) {
      faults.push({ line, column: '', found: `${row.length} cells`, expected: `${header.length}, as in the header` });
      continue;
    }
    const cells = cellsOf(header, row);
    const kind = kinds.find((k) => k === cells.kind?.toLowerCase());
    if (!kind) {
      faults.push({ line, column: 'kind', found: cells.kind ?? '', expected: `one of ${kinds.join(', ')}` });
    } else if (kind === 'system') {
      system = cells.type ?? '';
      if (system !== 'sealed' && system !== 'open-vented')
        faults.push({ line, column: 'type', found: system, expected: 'sealed or open-vented' });
    } else {
      const into = kind === 'emitter' ? 'emitters' : kind === 'run' ? 'runs' : 'others';
      parts[into].push(recordOf(kind, cells, line, faults));
      lines[into].push(line);
    }
  }
  if (faults.length > 0) return { survey: null, faults };
  const parsed = surveySchema.safeParse({ v: 1, system, ...parts });
  if (parsed.success) return { survey: parsed.data, faults: [] };
  return { survey: null, faults: parsed.error.issues.map((issue) => faultOf(issue.path, issue.message, lines, parts)) };
}

function cellsOf(header: readonly string[], row: readonly string[]): Cells {
  const out: Partial<Record<Column, string>> = {};
  for (const [i, h] of header.entries()) {
    const column = surveyColumns.find((c) => c === h);
    const text = (row[i] ?? '').trim();
    if (column && text !== '') out[column] = text;
  }
  return out;
}

function recordOf(
  kind: Exclude<Kind, 'system'>,
  cells: Cells,
  line: number,
  faults: TableFault[],
): Record<string, Cell> {
  const out: Record<string, Cell> = kind === 'rig' ? { isRig: true } : {};
  for (const column of surveyColumns) {
    const text = cells[column];
    if (text === undefined || column === 'kind') continue;
    const field = fields[kind][column];
    if (!field) {
      faults.push({ line, column, found: text, expected: `nothing in a row of kind ${kind}` });
    } else if (!numeric.has(column)) {
      out[field] = text;
    } else {
      const value = plainNumber(text);
      if (value === null) faults.push({ line, column, found: text, expected: 'a number' });
      else out[field] = value;
    }
  }
  if ((kind === 'emitter' || kind === 'other' || kind === 'rig') && out['name'] === undefined && cells.id !== undefined)
    out['name'] = cells.id;
  return out;
}

function faultOf(
  path: readonly PropertyKey[],
  message: string,
  lines: Readonly<Record<string, readonly number[]>>,
  parts: Readonly<Record<string, readonly Record<string, Cell>[]>>,
): TableFault {
  const [list, index, field] = [String(path[0]), Number(path[1]), String(path[2] ?? '')];
  const kind = list === 'emitters' ? 'emitter' : list === 'runs' ? 'run' : 'other';
  const column = surveyColumns.find((c) => fields[kind][c] === field) ?? field;
  const found = parts[list]?.[index]?.[field];
  return {
    line: lines[list]?.[index] ?? 0,
    column,
    found: found === undefined ? 'nothing' : String(found),
    expected: found === undefined ? 'a value' : plainly(message),
  };
}

/** What the schema expects, without its own grammar. */
function plainly(message: string): string {
  return message
    .replace(/^[^:]*: expected /, '')
    .replaceAll('"', '')
    .replaceAll('|', ', ');
}

/** The same survey as rows, so that what was written can be read again. */
export function rowsFromSurvey(survey: Survey): readonly (readonly string[])[] {
  const row = (kind: Kind, part: Readonly<Record<string, Cell | undefined>>): string[] =>
    surveyColumns.map((c) => {
      if (c === 'kind') return kind;
      if (kind === 'system') return c === 'type' ? String(part['type']) : '';
      const field = fields[kind][c];
      const value = field === undefined ? undefined : part[field];
      return value === undefined ? '' : String(value);
    });
  return [
    [...surveyColumns],
    row('system', { type: survey.system }),
    ...survey.emitters.map((e) => row('emitter', e)),
    ...survey.runs.map((r) => row('run', r)),
    ...survey.others.map((o) => row(o.isRig ? 'rig' : 'other', o)),
  ];
}
