import { mkdirSync, truncateSync, writeFileSync } from 'node:fs';
import { join } from 'node:path';
import { describe, expect, test } from 'vitest';
import { say } from '../../../src/core/message/message.ts';
import { emptySample } from '../../../src/core/quantity/sample.ts';
import { readRecording } from '../../../src/recording/recording.ts';
import { context, folderWith, header, newPlace, problemOf } from './samples.ts';

const row = (timeS: number, turbidityNtu: number | null) => ({
  ...emptySample(timeS),
  turbidityNtu,
  flowLpm: 12,
  pressureBar: 1.2,
  returnC: 40,
  conductivityUsCm: 400,
});
const csv = (...lines: string[]): string => `${[header, ...lines].join('\n')}\n`;
const two = [row(0, 1), row(1, 2)];

describe('what can be read', () => {
  const readable: [string, string | Uint8Array, string[]][] = [
    ['as written', csv('0,1,12,1.2,40,400', '1,2,12,1.2,40,400'), []],
    ['CR LF', `${header}\r\n0,1,12,1.2,40,400\r\n1,2,12,1.2,40,400\r\n`, []],
    ['no last line end', `${header}\n0,1,12,1.2,40,400\n1,2,12,1.2,40,400`, []],
    ['a byte order mark', `\ufeff${csv('0,1,12,1.2,40,400', '1,2,12,1.2,40,400')}`, []],
    ['empty lines', csv('', '0,1,12,1.2,40,400', ' ', '1,2,12,1.2,40,400', ''), []],
    ['blanks in cells', csv('0, 1 ,12,1.2,40,400', '1,2,12,1.2,40,400'), []],
    ['quoted cells', csv('"0","1",12,1.2,40,400', '1,2,12,1.2,40,400'), []],
    ['exponents', csv('0,1e0,1.2E+1,12e-1,4e1,400', '1,2,12,1.2,40,400'), []],
    ['semicolons', csv('0,1,12,1.2,40,400', '1,2,12,1.2,40,400').replaceAll(',', ';'), []],
    [
      'semicolons and decimal commas',
      `${header.replaceAll(',', ';')}\n0;1;12;1,2;40;400\n1;2;12;1,2;40;400\n`,
      ['recording-decimal-comma'],
    ],
    [
      'other columns, in another order',
      'note,conductivity_us_cm,temperature_c,pressure_bar,flow_lpm,turbidity_ntu,time_s\n' +
        'x,400,40,1.2,12,1,0\ny,400,40,1.2,12,2,1\n',
      ['recording-columns-ignored'],
    ],
    ['rows out of order', csv('1,2,12,1.2,40,400', '0,1,12,1.2,40,400'), ['recording-rows-unordered']],
    [
      'doubled rows: the first of the file wins',
      csv('0,1,12,1.2,40,400', '1,2,12,1.2,40,400', '1,99,12,1.2,40,400'),
      ['recording-rows-doubled'],
    ],
    ['a last line cut off', `${csv('0,1,12,1.2,40,400', '1,2,12,1.2,40,400')}2,3,12,1.`, ['recording-last-line-cut']],
  ];
  test.each(readable)('%s', (_, text, codes) => {
    const { samples, remarks } = readRecording(folderWith({ 'recording.csv': text }));
    expect(samples).toEqual(two);
    expect(remarks.map((r) => r.code)).toEqual(codes);
  });

  test('an empty cell is a missing value', () => {
    const { samples } = readRecording(folderWith({ 'recording.csv': csv('0,,12,1.2,40,400', '1,2,,,,') }));
    expect(samples).toEqual([row(0, null), { ...emptySample(1), turbidityNtu: 2 }]);
  });

  test('further channels are read where they are', () => {
    const text = `${header},supply_c,turbidity_out_ntu\n0,1,12,1.2,40,400,55.5,0.8\n`;
    expect(readRecording(folderWith({ 'recording.csv': text })).samples).toEqual([
      { ...row(0, 1), supplyC: 55.5, turbidityOutNtu: 0.8 },
    ]);
  });

  test('values are rounded as those of a live kit are', () => {
    const { samples } = readRecording(folderWith({ 'recording.csv': csv('0.1234567,1.00004999,12,1.2,40,400') }));
    expect(samples[0]?.turbidityNtu).toBe(1);
    expect(samples[0]?.timeS).toBe(0.1234567);
  });

  test('noise about zero flow is kept and remarked on', () => {
    const { samples, remarks } = readRecording(folderWith({ 'recording.csv': csv('0,1,-0.02,1.2,40,400') }));
    expect(samples[0]?.flowLpm).toBe(-0.02);
    expect(remarks).toMatchObject([{ code: 'recording-outside-slightly', params: { column: 'flow_lpm', line: 2 } }]);
  });

  test('counts and first lines of odd rows are told', () => {
    const text = csv('5,1,,,,', '3,1,,,,', '4,1,,,,', '', '4,1,,,,', '3,1,,,,');
    const { samples, remarks } = readRecording(folderWith({ 'recording.csv': text }));
    expect(samples.map((s) => s.timeS)).toEqual([3, 4, 5]);
    expect(remarks).toEqual([
      { code: 'recording-rows-unordered', params: { file: 'recording.csv', count: 4, line: 3 } },
      { code: 'recording-rows-doubled', params: { file: 'recording.csv', count: 2, line: 7 } },
    ]);
  });

  test('a single time that leaps ahead is named, not the rows behind it that are in order', () => {
    const rows = Array.from({ length: 200 }, (_, i) => `${i === 50 ? 9_999_999 : i},1,,,,`);
    const { remarks } = readRecording(folderWith({ 'recording.csv': csv(...rows) }));
    const params = { file: 'recording.csv', count: 149, line: 52, found: 9_999_999 };
    expect(remarks).toEqual([{ code: 'recording-time-leaps', params }]);
  });

  test('a start that is no date is told', () => {
    const about = (started_at: string) => JSON.stringify({ ...context, started_at });
    for (const started of ['gestern', '2026-13-01T00:00:00Z'])
      expect(readRecording(folderWith({ 'context.json': about(started) })).remarks).toEqual([
        { code: 'recording-start-unreadable', params: { file: 'context.json', found: started } },
      ]);
    expect(readRecording(folderWith({ 'context.json': about('2026-06-30T23:30:00-05:00') })).remarks).toEqual([]);
  });

  test('no events.csv is one visit, and said', () => {
    const { events, remarks } = readRecording(folderWith({ 'events.csv': null }));
    expect(events).toEqual([]);
    expect(remarks.map((r) => r.code)).toEqual(['recording-no-events']);
  });

  test('events: unknown ones are kept, order is by time, notes may have quotes and lines', () => {
    const text =
      'time_s,event,emitter,note\r\n9,end,,\r\n2,emitter-open,hall,"said ""ok"",\nthen left"\r\n2,dog-barked,garage,\r\n';
    const { events, remarks } = readRecording(folderWith({ 'events.csv': text }));
    expect(events).toEqual([
      { timeS: 2, event: 'emitter-open', emitter: 'hall', note: 'said "ok",\nthen left' },
      { timeS: 2, event: 'dog-barked', emitter: 'garage', note: '' },
      { timeS: 9, event: 'end', emitter: '', note: '' },
    ]);
    expect(remarks).toEqual([
      { code: 'recording-events-unordered', params: { file: 'events.csv', count: 1 } },
      { code: 'recording-emitter-unknown', params: { file: 'events.csv', line: 5, found: 'garage' } },
    ]);
  });

  test('a file of several megabytes is the same wherever its pieces are cut', () => {
    const text = [`${header},note`];
    // Two-byte letters and CR LF drift over every place of a piece's edge.
    for (let i = 0; i < 60_000; i++) text.push(`${i},1,12,1.2,40,400,${'é'.repeat(i % 40)}`);
    const { samples } = readRecording(folderWith({ 'recording.csv': `${text.join('\r\n')}\r\n` }));
    expect(samples).toHaveLength(60_000);
    expect(samples.every((s, i) => s.timeS === i && s.conductivityUsCm === 400)).toBe(true);
  });

  test('fields of the context that are not ours are kept', () => {
    const more = { ...context, house: { storeys: 2 } };
    expect(readRecording(folderWith({ 'context.json': JSON.stringify(more) })).context).toEqual(more);
  });
});

describe('what cannot be read is one error that says what, where and what to do', () => {
  const utf16 = new Uint8Array(Buffer.from(`\ufeff${header}\n`, 'utf16le'));
  const latin1 = new Uint8Array(Buffer.from('time_s,event,emitter,note\n1,note,,K\u00fcche\n', 'latin1'));
  // Of more bad rows than good ones nothing is left out: then it is no slip but another table.
  const events = (line: string): string => `time_s,event,emitter,note\n${line}\n`;
  const wrong: [string, Record<string, string | Uint8Array | null>, string, Record<string, unknown>][] = [
    ['no recording.csv', { 'recording.csv': null }, 'recording-no-file', {}],
    ['no context.json', { 'context.json': null }, 'recording-no-file', {}],
    ['an empty file', { 'recording.csv': '' }, 'recording-empty', {}],
    ['a header alone', { 'recording.csv': csv() }, 'recording-empty', {}],
    [
      'a column missing',
      { 'recording.csv': csv('0,1').replace('turbidity_ntu,', '') },
      'recording-header',
      { line: 1, column: 'turbidity_ntu' },
    ],
    ['a column twice', { 'recording.csv': `${header},flow_lpm\n` }, 'recording-header-twice', { column: 'flow_lpm' }],
    [
      'text for most numbers of a column',
      { 'recording.csv': csv('0,1,none,1.2,40,400', '1,2,twelve,1.2,40,400', '2,2,12,1.2,40,400') },
      'recording-not-a-number',
      { file: 'recording.csv', line: 2, column: 'flow_lpm', found: 'none' },
    ],
    ['NaN', { 'recording.csv': csv('0,NaN,,,,') }, 'recording-not-a-number', { found: 'NaN', column: 'turbidity_ntu' }],
    ['Infinity', { 'recording.csv': csv('0,-Infinity,,,,') }, 'recording-not-a-number', { found: '-Infinity' }],
    ['an overflow', { 'recording.csv': csv('0,1e999,,,,') }, 'recording-not-a-number', { found: '1e999' }],
    ['a hexadecimal number', { 'recording.csv': csv('0,0x1f,,,,') }, 'recording-not-a-number', { found: '0x1f' }],
    ['a decimal comma in quotes', { 'recording.csv': csv('0,"1,5",,,,') }, 'recording-not-a-number', { found: '1,5' }],
    ['a negative time', { 'recording.csv': csv('-1,1,,,,') }, 'recording-time-range', { line: 2, found: -1 }],
    ['a Unix time', { 'recording.csv': csv('1772438400,1,,,,') }, 'recording-time-range', { found: 1772438400 }],
    ['no time', { 'recording.csv': csv(',1,,,,') }, 'recording-time-missing', { line: 2 }],
    [
      'an absurd value',
      { 'recording.csv': csv('0,1,12,1.2,400,400') },
      'recording-absurd',
      { line: 2, column: 'temperature_c', found: 400, max: 130 },
    ],
    ['a clearly negative flow', { 'recording.csv': csv('0,1,-12,1.2,40,400') }, 'recording-absurd', { found: -12 }],
    ['too few cells', { 'recording.csv': csv('0,1,2') }, 'recording-row-width', { line: 2, found: 3, expected: 6 }],
    ['too many cells', { 'recording.csv': csv('0,1,2,3,4,5,6') }, 'recording-row-width', { found: 7, expected: 6 }],
    ['a quote left open', { 'recording.csv': csv('0,"1,,,,') }, 'recording-quote', { line: 2 }],
    ['UTF-16', { 'recording.csv': utf16 }, 'recording-encoding', { found: 'UTF-16' }],
    ['zero bytes', { 'recording.csv': 'PK\u0003\u0004\u0000\u0000' }, 'recording-encoding', { found: 'zero bytes' }],
    ['Latin-1', { 'events.csv': latin1 }, 'recording-encoding', { file: 'events.csv' }],
    [
      'one cell of another encoding',
      { 'recording.csv': new Uint8Array(Buffer.from(csv('0,1,12,1.2,40,400', '1,\u00fc,12,1.2,40,400'), 'latin1')) },
      'recording-encoding',
      { file: 'recording.csv', line: 3 },
    ],
    ['a line without end', { 'recording.csv': csv('0'.repeat(3_000_000)) }, 'recording-too-large', {}],
    ['no JSON', { 'context.json': '{"emitters": [\n{]}' }, 'recording-json', { file: 'context.json', line: 2 }],
    [
      'a context that lacks something',
      { 'context.json': JSON.stringify({ ...context, loop_volume_l: undefined }) },
      'recording-context',
      { path: 'loop_volume_l', found: 'nothing' },
    ],
    [
      'a volume that is none',
      { 'context.json': JSON.stringify({ ...context, emitters: [{ id: 'a', name: 'A', volume_l: -3 }] }) },
      'recording-context',
      { path: 'emitters.0.volume_l', found: '-3' },
    ],
    [
      'an emitter twice',
      { 'context.json': JSON.stringify({ ...context, emitters: [context.emitters[0], context.emitters[0]] }) },
      'recording-context',
      { path: 'emitters.1.id' },
    ],
    ['an event without a name', { 'events.csv': events('2,,,') }, 'recording-event-name', { line: 2, column: 'event' }],
    ['an event of a wrong name', { 'events.csv': events('2,Emitter Open,,') }, 'recording-event-name', { line: 2 }],
    ['an event before the start', { 'events.csv': events('-2,note,,') }, 'recording-time-range', { line: 2 }],
    ['an event at no time', { 'events.csv': events('soon,note,,') }, 'recording-not-a-number', { found: 'soon' }],
    [
      'a note too long',
      { 'events.csv': events(`2,note,,${'x'.repeat(2001)}`) },
      'recording-text-long',
      { column: 'note', found: 2001 },
    ],
    [
      'events without a column',
      { 'events.csv': 'time_s,event,note\n' },
      'recording-header',
      { file: 'events.csv', column: 'emitter' },
    ],
    ['a wide event row', { 'events.csv': events('2,note,,a,b') }, 'recording-row-width', { line: 2, found: 5 }],
  ];
  test.each(wrong)('%s', (_, files, code, params) => {
    const problem = problemOf(folderWith(files));
    expect(problem.code).toBe(code);
    expect(problem.params).toMatchObject(params);
    // A text of our own, with nothing left unfilled.
    expect(problem.message).toMatch(/^[\w/].*\.$/s);
    expect(problem.message).not.toMatch(/undefined|\[object|^recording-/);
  });

  test('single bad cells and rows cost themselves alone, and are told with their place', () => {
    const good = (t: number) => `${t},${t},12,1.2,40,400`;
    const rows = [
      good(0),
      '1,NaN,12,1.2,400,400',
      '2,2,twelve,1.2,40,400',
      'soon,3,12,1.2,40,400',
      '-4,4,12,1.2,40,400',
    ];
    const folder = folderWith({ 'recording.csv': csv(...rows, '5,5', '6,6,7,8,9,10,11', good(7), good(8), good(9)) });
    const { samples, remarks } = readRecording(folder);
    expect(samples.map((s) => [s.timeS, s.turbidityNtu, s.flowLpm, s.returnC])).toEqual([
      [0, 0, 12, 40],
      [1, null, 12, null],
      [2, 2, null, 40],
      [7, 7, 12, 40],
      [8, 8, 12, 40],
      [9, 9, 12, 40],
    ]);
    expect(remarks.map((m) => [m.code, m.params['column'], m.params['count'], m.params['line']])).toEqual(
      expect.arrayContaining([
        ['recording-rows-left-out', undefined, 4, 5],
        ['recording-cells-left-out', 'turbidity_ntu', 1, 3],
        ['recording-cells-left-out', 'temperature_c', 1, 3],
        ['recording-cells-left-out', 'flow_lpm', 1, 4],
      ]),
    );
    for (const remark of remarks) expect(say(remark)).not.toMatch(/undefined|1 cells|1 rows/);
  });

  test('absent columns are missing values, but for time and turbidity', () => {
    const folder = folderWith({ 'recording.csv': 'time_s,turbidity_ntu\n0,1\n1,2\n' });
    const { samples, remarks } = readRecording(folder);
    expect(samples.map((s) => [s.turbidityNtu, s.flowLpm])).toEqual([
      [1, null],
      [2, null],
    ]);
    expect(remarks).toContainEqual({
      code: 'recording-columns-absent',
      params: { file: 'recording.csv', found: 'flow_lpm, pressure_bar, temperature_c, conductivity_us_cm' },
    });
  });

  test('a file beyond all bounds is refused before it is read', () => {
    const folder = folderWith({});
    truncateSync(join(folder, 'recording.csv'), 3 * 2 ** 30);
    expect(problemOf(folder)).toMatchObject({ code: 'recording-too-large', params: { found: '3221225472 bytes' } });
    truncateSync(join(folder, 'context.json'), 3 * 2 ** 30);
    expect(problemOf(folder)).toMatchObject({ code: 'recording-too-large', params: { file: 'context.json' } });
  });

  test('a folder that is not there, and a file in its place', () => {
    expect(problemOf(newPlace()).code).toBe('recording-no-folder');
    const file = newPlace();
    mkdirSync(join(file, '..'), { recursive: true });
    writeFileSync(file, 'PK');
    expect(problemOf(file).code).toBe('recording-not-a-folder');
  });
});
