import { type PenaltyRule, penaltyRules } from '../../core/changepoint/penalty.ts';
import type { Segment, SegmentInput } from '../../core/changepoint/segment.ts';
import { say } from '../../core/message/message.ts';
import { Problem } from '../../core/message/problem.ts';
import { type Command, type Input, numberOption, textOption, WrongUse } from '../command.ts';

/** Changes of any table of numbers. */
export const segment: Command = {
  name: 'segment',
  summary: 'Find where the columns of any table change: change points and the stretches between them.',
  args: [{ name: 'file', about: 'CSV file with a header; - reads standard input; comma, semicolon or tab separates' }],
  options: [
    { flags: '--columns <names>', about: 'columns to look at together; may be given several times', many: true },
    { flags: '--time <column>', about: 'column that holds the time of each row' },
    { flags: '--method <name>', about: 'pelt: with hindsight; online: only from what came before (default: pelt)' },
    { flags: '--reference <rows>', about: 'online: so many first rows are normal, nothing is declared in them' },
    {
      flags: '--penalty <price>',
      about: 'price of one change: a number, bic, mbic or elbow (default: the data decide)',
    },
  ],
  examples: [
    'limpid segment readings.csv --columns turbidity_ntu --time time_s',
    'limpid segment readings.csv --columns flow_lpm,pressure_bar --method online --reference 200 --json',
    'some-logger | limpid segment - --columns level',
  ],
  run: runSegment,
};

async function runSegment({ args, options, out }: Input): Promise<number> {
  const method = textOption(options, 'method') ?? 'pelt';
  if (method !== 'pelt' && method !== 'online') throw new WrongUse(`--method is pelt or online; got "${method}".`);
  const reference = numberOption(options, 'reference');
  const penalty = penaltyOf(options);
  if (reference !== undefined && method !== 'online') throw new WrongUse('--reference goes with --method online.');
  if (penalty !== undefined && method !== 'pelt') throw new WrongUse('--penalty goes with --method pelt.');
  const { readTable, columnNames, columnOf, timesOf, isHeaderless } = await import('../table.ts');
  const { segment: find } = await import('../../core/changepoint/segment.ts');
  const { remarksOn } = await import('../../core/changepoint/remarks.ts');
  const table = readTable(args[0] ?? '');
  const given = Array.isArray(options['columns']) ? options['columns'].map(String) : [];
  const timeName = textOption(options, 'time');
  const time = timeName === undefined ? undefined : columnNames(table, [timeName])[0];
  const names = columnNames(table, given, time);
  const input: SegmentInput = {
    columns: names.map((name) => ({ name, values: columnOf(table, name) })),
    method,
    ...(time === undefined ? {} : { time: timesOf(table, time) }),
    ...(reference === undefined ? {} : { reference }),
    ...(penalty === undefined ? {} : { penalty }),
  };
  if (isHeaderless(table))
    out.say(say({ code: 'table.number-header', params: { file: table.name, names: names.join(', ') } }));
  const result = find(input);
  if ('refused' in result) {
    const { code, params } = result.refused;
    if (code === 'segment-penalty' || code === 'segment-reference') throw new WrongUse(say({ code, params }));
    throw new Problem(code, { ...params, file: table.name });
  }
  for (const remark of remarksOn(input)) out.say(say(remark));
  const cells = time === undefined ? null : table.rows.map((row) => row[table.header.indexOf(time)]?.trim() ?? '');
  const found = result.changepoints.map((row, i) => {
    const at = cells?.[row] ? ` at ${time} ${cells[row]}` : '';
    const alarm = result.alarms?.[i];
    const declared = alarm === undefined ? '' : `, declared at row ${alarm}`;
    return `  row ${row}${at}${declared}: ${turns(names, result.segments[i], result.segments[i + 1])}`;
  });
  const count = found.length === 1 ? '1 change' : `${found.length} changes`;
  const rows = table.rows.length === 1 ? '1 row' : `${table.rows.length} rows`;
  out.result(result, [`${count} in ${rows}.`, ...found].join('\n'));
  return 0;
}

/** What each column did there: its mean before and after. */
function turns(names: readonly string[], before: Segment | undefined, after: Segment | undefined): string {
  const mean = (stretch: Segment | undefined, c: number): string => {
    const value = [stretch?.mean].flat()[c] ?? null;
    return value === null ? 'nothing' : String(Number(value.toPrecision(4)));
  };
  return names.map((name, c) => `${name} ${mean(before, c)} -> ${mean(after, c)}`).join(', ');
}

function penaltyOf(options: Input['options']): number | PenaltyRule | undefined {
  const text = textOption(options, 'penalty');
  const rule = penaltyRules.find((r) => r === text);
  if (rule !== undefined || text === undefined) return rule;
  const price = text.trim() === '' ? Number.NaN : Number(text);
  if (Number.isFinite(price)) return price;
  throw new WrongUse(say({ code: 'segment-penalty', params: { penalty: `"${text}"` } }));
}
