import fc from 'fast-check';
import { describe, expect, test } from 'vitest';
import type { RunEvent } from '../../../src/core/job/event.ts';
import { type Message, say } from '../../../src/core/message/message.ts';
import { eventRow } from '../../../src/recording/events-csv.ts';
import { importRecording, readRecording, verifyRecording } from '../../../src/recording/recording.ts';
import { openStore } from '../../../src/store/open.ts';
import { folderWith, newPlace, problemOf } from './samples.ts';

const head = 'time_s,event,emitter,note';
const file = (...rows: string[]): string => `${[head, ...rows].join('\n')}\n`;

const event: fc.Arbitrary<RunEvent> = fc.record({
  timeS: fc.double({ min: 0, max: 1e6, noNaN: true }),
  event: fc.constantFrom('emitter-open', 'emitter-shut', 'agitate-end', 'stage:rinse', 'note', 'dog-barked'),
  emitter: fc.constantFrom('hall', 'loft', ''),
  // Notes of several lines move the lines of all that follows.
  note: fc.constantFrom('', 'plain', 'said "ok", then left', 'one\ntwo\r\nthree', '=1+1'),
});
/** A row that nobody can read, and what must be said of it. */
const bad = fc.constantFrom<[string, string]>(
  [',note,hall,', 'recording-time-missing'],
  ['soon,emitter-open,hall,', 'recording-not-a-number'],
  ['0x1f,emitter-open,hall,', 'recording-not-a-number'],
  ['00:12:30,agitate-end,hall,', 'recording-not-a-number'],
  ['1e999,agitate-end,hall,', 'recording-not-a-number'],
  ['-1,agitate-end,hall,', 'recording-time-range'],
  ['5,Emitter Open,hall,', 'recording-event-name'],
  ['5,,hall,', 'recording-event-name'],
  [`5,note,${'x'.repeat(65)},`, 'recording-text-long'],
  [`5,note,,${'x'.repeat(2001)}`, 'recording-text-long'],
  ['5,note,,lower edge, five sweeps', 'recording-row-width'],
  ['5,no', 'recording-row-width'],
  ['5', 'recording-row-width'],
);

describe('a row of events.csv that cannot be used', () => {
  test('costs itself alone, wherever it stands, and is named with its line', () => {
    const rows = fc.array(
      fc.oneof(
        event.map((e) => ({ event: e, row: eventRow(e), code: '' })),
        bad.map(([row, code]) => ({ event: null, row, code })),
      ),
      { minLength: 1, maxLength: 20 },
    );
    fc.assert(
      fc.property(rows, (all) => {
        const good = all.filter((r) => r.event !== null);
        fc.pre(good.length * 2 >= all.length);
        const found = readRecording(folderWith({ 'events.csv': file(...all.map((r) => r.row)) }));
        const without = readRecording(folderWith({ 'events.csv': file(...good.map((r) => r.row)) }));
        expect(found.events).toEqual(without.events);
        let line = 2;
        const wrong: [string, number][] = [];
        for (const { event: ok, row, code } of all) {
          if (ok === null) wrong.push([code, line]);
          line += row.split('\n').length;
        }
        const told = found.remarks.filter((m) => wrong.some(([code]) => code === m.code));
        expect(told.map((m) => [m.code, m.params['line']])).toEqual(wrong.slice(0, 10));
        const summary = found.remarks.filter((m) => m.code === 'recording-events-left-out');
        expect(summary.map((m) => [m.params['count'], m.params['line']])).toEqual(
          wrong.length > 0 ? [[wrong.length, wrong[0]?.[1]]] : [],
        );
        for (const remark of found.remarks) expect(say(remark)).toMatch(/^events\.csv[^]*\.$/);
      }),
      { numRuns: 150 },
    );
  });

  test('is told with what is wrong and what to do', () => {
    const text = file('1,emitter-open,hall,', 'soon,agitate-end,hall,', '5,note,,a, b', '9,end,,');
    const sentences = readRecording(folderWith({ 'events.csv': text })).remarks.map(say);
    expect(sentences).toEqual([
      'events.csv, line 3, column time_s: found "soon", expected seconds from the start. Mend or delete the line.',
      'events.csv, line 4: 5 cells, expected 4 as in the header. Mend the line; a text that holds the separator stands in quotation marks.',
      'events.csv: 2 rows (first: line 3) cannot be used and were left out: what they tell, be it an opening, a pass or a stage, counts as never told. Mend them, then read the recording again.',
    ]);
  });

  test('is told by a check, which has nothing else against the recording', () => {
    const check = verifyRecording(folderWith({ 'events.csv': file('1,emitter-open,hall,', 'soon,agitate-end,hall,') }));
    expect(check).toMatchObject({ sound: false, chain: null, faults: [] });
    expect(check.remarks.map((r) => r.code)).toEqual(['recording-not-a-number', 'recording-events-left-out']);
  });

  test('is told at the import, and the run holds a note in its place', () => {
    const store = openStore(newPlace());
    const told: Message[] = [];
    const folder = folderWith({ 'events.csv': file('0.5,emitter-open,hall,', 'soon,agitate-end,hall,') });
    const runId = importRecording(store, folder, '2026-03-03T09:00:00.000Z', (remark) => told.push(remark));
    const events =
      store
        .openRun(runId)
        ?.events()
        .map((e) => e.event) ?? [];
    expect(events.map((e) => e.event)).toEqual(['note', 'emitter-open', 'samples-kept']);
    expect(events[0]?.note).toMatch(/^events\.csv: 1 row \(line 3\) cannot be used/);
    expect(told.map((r) => r.code)).toEqual(['recording-not-a-number', 'recording-events-left-out']);
    store.close();
  });
});

describe('what of events.csv cannot be left out honestly is refused', () => {
  const cases: [string, string, string, number][] = [
    ['a header without a column', 'time_s,event,note\n1,note,\n', 'recording-header', 1],
    ['a header with a column twice', `${head},note\n1,note,,,\n`, 'recording-header-twice', 1],
    ['a quotation mark never closed', file('1,note,,"a', '2,end,,'), 'recording-quote', 2],
    // By the mark that went astray the opening stands in a note: nobody can tell it from words.
    [
      'a mark that swallows the rows after it',
      file('1,note,,"a', '2,emitter-open,hall,', '3,note,,"b"', '4,end,,', '5,end,,'),
      'recording-quote-text',
      4,
    ],
    [
      'a bad row over several lines',
      file('1,note,,', '2,note,,"a', '3,emitter-open,hall,"', '4,note,,"b', '5,end,,",', '6,end,,'),
      'recording-row-width',
      5,
    ],
    ['more bad rows than good ones', file('soon,note,,', '2,,,', '3,end,,'), 'recording-not-a-number', 2],
  ];
  test.each(cases)('%s', (_, text, code, line) => {
    expect(problemOf(folderWith({ 'events.csv': text }))).toMatchObject({ code, params: { file: 'events.csv', line } });
  });

  test.each([
    ['blanks after a closing mark at the end of a line', '2,note,,"a" '],
    ['a carriage return there', '2,note,,"a"\r'],
  ])('%s are no text', (_, row) => {
    const { events, remarks } = readRecording(folderWith({ 'events.csv': file('1,note,,', row, '3,end,,') }));
    expect(events.map((e) => e.note)).toEqual(['', 'a', '']);
    expect(remarks).toEqual([]);
  });
});
