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
    { flags: '--penalty <number>', about: 'price of one change (default: the data decide)' },
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
  const penalty = numberOption(options, 'penalty');
  if (reference !== undefined && method !== 'online') throw new WrongUse('--reference goes with --method online.');
  const { readTable, columnNames, columnOf, timeNumber } = await import('../table.ts');
  const { segment: find } = await import('../../core/changepoint/segment.ts');
  const table = readTable(args[0] ?? '');
  const given = Array.isArray(options['columns']) ? options['columns'].map(String) : [];
  const names = columnNames(table, given);
  const timeName = textOption(options, 'time');
  const time = timeName === undefined ? undefined : columnNames(table, [timeName])[0];
  const result = find({
    columns: names.map((name) => ({ name, values: columnOf(table, name) })),
    method,
    ...(time === undefined ? {} : { time: columnOf(table, time, timeNumber) }),
    ...(reference === undefined ? {} : { reference }),
    ...(penalty === undefined ? {} : { penalty }),
  });
  if ('refused' in result) {
    const { code, params } = result.refused;
    if (code === 'segment-penalty' || code === 'segment-reference') throw new WrongUse(say({ code, params }));
    throw new Problem(code, params);
  }
  const found = result.changepoints.map((row, i) => {
    const alarm = result.alarms?.[i];
    return alarm === undefined ? `  row ${row}` : `  row ${row}, declared at row ${alarm}`;
  });
  const count = found.length === 1 ? '1 change' : `${found.length} changes`;
  out.result(result, [`${count} in ${table.rows.length} rows.`, ...found].join('\n'));
  return 0;
}
