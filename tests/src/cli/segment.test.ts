import { mkdtempSync, rmSync, writeFileSync } from 'node:fs';
import { tmpdir } from 'node:os';
import { join } from 'node:path';
import { afterAll, describe, expect, it } from 'vitest';
import { z } from 'zod';
import { limpid } from './command-line.ts';

const root = mkdtempSync(join(tmpdir(), 'limpid-segment-'));
afterAll(() => rmSync(root, { recursive: true, force: true }));
const put = (name: string, text: string | Uint8Array): string => {
  writeFileSync(join(root, name), text);
  return join(root, name);
};
const parse = (text: string): unknown => JSON.parse(text);

describe('segment', () => {
  const step = ['level', ...Array.from({ length: 60 }, (_, i) => (i < 30 ? i % 3 : 40 + (i % 3)))].join('\n');

  it('gives the fixed JSON: change points and half-open segments', async () => {
    const { code, stdout } = await limpid('segment', put('step.csv', step), '--columns', 'level', '--json');
    expect(code).toBe(0);
    const shape = z.strictObject({
      changepoints: z.array(z.int()),
      segments: z.array(z.strictObject({ from: z.int(), to: z.int(), mean: z.number(), sd: z.number() })),
    });
    const { changepoints, segments } = shape.parse(parse(stdout));
    expect(changepoints).toEqual([30]);
    expect(segments.map((s) => [s.from, s.to])).toEqual([
      [0, 30],
      [30, 60],
    ]);
  });

  it('says in words where, when and from what to what', async () => {
    const rows = Array.from(
      { length: 60 },
      (_, i) => `2026-01-01 00:${String(i).padStart(2, '0')};${i < 30 ? i % 3 : 40 + (i % 3)}`,
    );
    const file = put('when.csv', ['when;level', ...rows].join('\n'));
    const { stdout } = await limpid('segment', file, '--time', 'when');
    expect(stdout).toBe('1 change in 60 rows.\n  row 30 at when 2026-01-01 00:30: level 1 -> 41\n');
  });

  it('reads lines that end with CR alone', async () => {
    const file = put('cr.csv', step.replaceAll('\n', '\r'));
    const { stdout } = await limpid('segment', file, '--columns', 'level', '--json');
    expect(z.object({ changepoints: z.array(z.number()) }).parse(parse(stdout)).changepoints).toEqual([30]);
  });

  it('names the columns of a very wide table as far as one can read them', async () => {
    const wide = Array.from({ length: 900 }, (_, i) => `column${i}`).join(',');
    const { code, stderr } = await limpid('segment', put('wide.csv', `${wide}\n`), '--columns', 'other');
    expect(code).toBe(2);
    expect(stderr).toContain('(900 in all)');
    expect(stderr.length).toBeLessThan(1000);
  });

  it('keeps the numbers of rows with missing cells, blank lines of a single column among them', async () => {
    const lines = step.split('\n');
    lines.splice(11, 0, '', 'NA');
    const { stdout } = await limpid('segment', put('holes.csv', lines.join('\n')), '--columns', 'level', '--json');
    expect(z.object({ changepoints: z.array(z.number()) }).parse(parse(stdout)).changepoints).toEqual([32]);
  });

  it('declares on-line with alarms, and nothing in the reference', async () => {
    const args = ['--columns', 'level', '--method', 'online', '--reference', '20', '--json'];
    const { stdout } = await limpid('segment', put('step.csv', step), ...args);
    const shape = z.object({ changepoints: z.array(z.int()), alarms: z.array(z.int()) });
    const { changepoints, alarms } = shape.parse(parse(stdout));
    expect(alarms).toHaveLength(changepoints.length);
    expect(changepoints.length).toBeGreaterThan(0);
    expect(Math.min(...changepoints, ...alarms)).toBeGreaterThanOrEqual(20);
  });

  it('reads semicolons with decimal commas, several columns in one flag or in several', async () => {
    const rows = Array.from({ length: 40 }, (_, i) => `${i};${i < 20 ? 1 : 9},${i % 4};${i % 5}`);
    const file = put('semi.csv', ['t;a;b', ...rows].join('\r\n'));
    const one = await limpid('segment', file, '--columns', 'a,b', '--time', 't', '--json');
    const two = await limpid('segment', file, '--columns', 'a', '--columns', 'b', '--time', 't', '--json');
    expect(one.code).toBe(0);
    expect(one.stdout).toBe(two.stdout);
    expect(parse(one.stdout)).toMatchObject({ changepoints: [20] });
  });
});

describe('a table as other programs write it', () => {
  const values = Array.from({ length: 40 }, (_, i) => (i < 20 ? i % 3 : 40 + (i % 3)));
  const changes = async (file: string, ...more: string[]): Promise<unknown> =>
    parse((await limpid('segment', file, '--json', ...more)).stdout);

  it('in Windows-1252 or UTF-16 keeps the names of its columns', async () => {
    const text = ['Temp °C', ...values].join('\n');
    const marked = Buffer.concat([Buffer.from([0xff, 0xfe]), Buffer.from(text, 'utf16le')]);
    for (const bytes of [Buffer.from(text, 'latin1'), marked, Buffer.from(text, 'utf8')])
      expect(await changes(put('named.csv', bytes), '--columns', 'Temp °C')).toMatchObject({ changepoints: [20] });
  });

  it('with notes above the header passes over them, and takes one just above the data for the header', async () => {
    const rows = values.map((v, i) => `${i};${v}`);
    expect(
      await changes(put('notes.csv', ['# a, b, c', '#', 'n;level', ...rows].join('\n')), '--time', 'n'),
    ).toMatchObject({
      changepoints: [20],
    });
    expect(await changes(put('marked.csv', ['#n;level', ...rows].join('\n')), '--columns', 'level')).toMatchObject({
      changepoints: [20],
    });
  });

  it('with a running number that has no name is asked for no column', async () => {
    const text = [',level', ...values.map((v, i) => `${i},${v}`)].join('\n');
    expect(await changes(put('numbered.csv', text))).toMatchObject({ changepoints: [20] });
  });

  it.each([
    ['dots', (day: number) => `${day}.02.2024 10:00`],
    ['slashes, one over 12', (day: number) => `${day}/02/2024 10:00`],
    ['slashes, the month first', (day: number) => `02/${day}/2024 10:00`],
  ])('with dates by %s reads them in their order', async (_, date) => {
    const rows = values.slice(0, 28).map((_, i) => `${date(i + 1)};${i < 14 ? i % 3 : 40 + (i % 3)}`);
    const text = ['when;level', ...rows].join('\n');
    expect(await changes(put('dates.csv', text), '--time', 'when')).toMatchObject({ changepoints: [14] });
  });

  it('without a header is answered, and says that its first row was taken for one', async () => {
    const { code, stderr } = await limpid('segment', put('headless.csv', values.join('\n')));
    expect(code).toBe(0);
    expect(stderr).toContain('the first line holds numbers (0) and was taken for the names');
  });
});

describe('the price of a change', () => {
  const file = put(
    'price.csv',
    ['x', ...Array.from({ length: 80 }, (_, i) => (i < 40 ? 0 : 9) + ((i * 7) % 5))].join('\n'),
  );

  it.each(['20', 'bic', 'mbic', 'elbow'])('may be %s', async (penalty) => {
    const { stdout } = await limpid('segment', file, '--columns', 'x', '--penalty', penalty, '--json');
    expect(parse(stdout)).toMatchObject({ changepoints: [40] });
  });

  it.each([
    [['--penalty', 'aic'], 'bic, mbic or elbow; got "aic"'],
    [['--penalty', '-1'], 'got -1'],
    [['--penalty', '9', '--method', 'online'], '--penalty goes with --method pelt'],
  ])('but not %j', async (more, says) => {
    const { code, stderr } = await limpid('segment', file, '--columns', 'x', ...more);
    expect(code).toBe(2);
    expect(stderr).toContain(says);
  });
});

describe('a table with nothing in it to find', () => {
  it.each([
    ['one row', 'x\n4\n', [], 'has one row'],
    ['a column that never changes', 'x\n4\n4\n4\n4\n', [], 'Column "x" never changes'],
    ['a column without a number', 'x,y\n1,\n1,NA\n', ['--columns', 'y'], 'Column "y" holds no number'],
    [
      'a reference longer than the table',
      `x\n${'1\n2\n'.repeat(8)}`,
      ['--method', 'online', '--reference', '16'],
      'The reference of 16 rows holds the whole table (16 rows)',
    ],
  ])('%s: is answered, and says why', async (_, text, more, says) => {
    const { code, stdout, stderr } = await limpid('segment', put('odd.csv', text), '--columns', 'x', ...more, '--json');
    expect(code).toBe(0);
    expect(parse(stdout)).toMatchObject({ changepoints: [] });
    expect(stderr).toContain(says);
  });
});

describe('a table that cannot be used', () => {
  it.each([
    ['a folder in place of a file', () => [root, '--columns', 'x'], 1, 'is a folder. Name the CSV file in it.'],
    ['a header without rows', () => [put('head.csv', 'x\n'), '--columns', 'x'], 1, 'head.csv has a header and no rows'],
    [
      'data without a header',
      () => [put('bare.csv', '1,2\n3,4\n'), '--columns', 'x'],
      2,
      'Its first line holds numbers',
    ],
    ['data without a header or a column', () => [put('bare.csv', '1,2\n3,4\n')], 2, 'has no header. Its first line'],
    ['a file that is no text', () => [put('sheet.csv', Uint8Array.of(80, 75, 3, 4, 0, 9))], 1, 'save it as CSV.'],
    ['a column of words', () => [put('words.csv', 'x\nred\n')], 1, '"red" is no number. Leave the cell empty'],
    ['decimal commas between commas', () => [put('comma.csv', 'x\n"1,5"\n')], 1, 'Write a decimal point, or separate'],
    ['thousands in groups', () => [put('groups.csv', 'x\n1 234\n')], 1, 'Take out what groups thousands.'],
    ['a unit in a cell', () => [put('unit.csv', 'x\n1.5 bar\n')], 1, 'Leave the unit to the header.'],
    ['another separator', () => [put('bars.csv', 'x|y\n1|2\n')], 1, 'Separate cells by commas, semicolons or tabs.'],
    [
      'a time that is none',
      () => [put('when.csv', 't,x\nnoon,1\n'), '--time', 't'],
      1,
      '"noon" is no time. Give seconds, or a date and time such as 2026-01-31 14:05:00',
    ],
    ['two columns of one name', () => [put('two.csv', 'x,x\n1,2\n'), '--columns', 'x'], 2, 'several columns "x"'],
    [
      'times that go back',
      () => [put('back.csv', 't,x\n1,1\n0.5,1\n2,1\n'), '--columns', 'x', '--time', 't'],
      1,
      'The time in row 1 (counted from 0) lies before that of the row above it. Sort the table by time first.',
    ],
  ] as const)('%s', async (_, argv, code, says) => {
    const { code: ended, stderr, stdout } = await limpid('segment', ...argv());
    expect({ ended, stdout }).toEqual({ ended: code, stdout: '' });
    expect(stderr).toContain(says);
  });
});
