import { copyFileSync, mkdirSync, readdirSync, readFileSync, rmSync, writeFileSync } from 'node:fs';
import { join } from 'node:path';
import { beforeAll, describe, expect, test } from 'vitest';
import { Problem } from '../../../src/core/message/problem.ts';
import { exportRun, importRecording, readRecording, verifyRecording } from '../../../src/recording/recording.ts';
import { openStore } from '../../../src/store/open.ts';
import { eventOf, headOf, sampleAt } from '../../contracts/store.contract.ts';
import { newPlace } from './samples.ts';

/** A run of 200 s with four events: three chunks and their three entries. */
const whole = newPlace();
beforeAll(() => {
  const place = newPlace();
  const store = openStore(place);
  const run = store.createRun(headOf('r1'));
  for (let i = 0; i < 2000; i++) {
    if (i % 500 === 0) run.appendEvent(eventOf(`e${i}`, i / 10));
    run.appendSample(sampleAt(i / 10, i));
    run.flush();
  }
  exportRun(run, whole);
  store.close();
});

function copyWith(name: string, change: (text: string) => string | null): string {
  const folder = newPlace();
  mkdirSync(folder);
  for (const file of readdirSync(whole)) copyFileSync(join(whole, file), join(folder, file));
  const text = change(readFileSync(join(folder, name), 'utf8'));
  if (text === null) rmSync(join(folder, name));
  else writeFileSync(join(folder, name), text);
  return folder;
}
const lines = (change: (lines: string[]) => string[]) => (text: string) =>
  change(text.trimEnd().split('\n')).join('\n') + '\n';

function refusal(work: () => unknown): Problem | null {
  try {
    work();
    return null;
  } catch (error) {
    if (error instanceof Problem) return error;
    throw error;
  }
}

describe('a changed export', () => {
  test('unchanged it is sound', () => {
    expect(verifyRecording(whole)).toMatchObject({ sound: true, samples: { rows: 2000, chained: 2000 } });
    expect(readRecording(whole).remarks).toEqual([]);
  });

  const cases: [string, string, (text: string) => string | null, string, Record<string, unknown>][] = [
    [
      'an event changed in events.csv',
      'events.csv',
      (t) => t.replace('50,agitate-end', '51,agitate-end'),
      'recording-chain-disagrees',
      { file: 'events.csv', line: 3, found: '51,agitate-end,hall,', expected: '50,agitate-end,hall,' },
    ],
    [
      'an event taken out of events.csv',
      'events.csv',
      lines((l) => l.toSpliced(2, 1)),
      'recording-chain-disagrees',
      { file: 'events.csv', line: 3, expected: '50,agitate-end,hall,' },
    ],
    [
      'an event added to events.csv',
      'events.csv',
      (t) => `${t}190,note,,\n`,
      'recording-chain-disagrees',
      { line: 6, expected: 'no more events' },
    ],
    [
      'a row of events.csv made unreadable',
      'events.csv',
      (t) => t.replace('50,agitate-end', 'soon,agitate-end'),
      'recording-chain-disagrees',
      { file: 'events.csv', line: 3, found: 'soon,agitate-end,hall,', expected: '50,agitate-end,hall,' },
    ],
    [
      'an unreadable row added to events.csv',
      'events.csv',
      (t) => `${t}190,,,\n`,
      'recording-chain-disagrees',
      { line: 6, found: '190,,,', expected: 'no more events' },
    ],
    [
      'an event changed before an unreadable row',
      'events.csv',
      (t) => t.replace('50,agitate-end', '51,agitate-end').replace('100,agitate-end', 'soon,agitate-end'),
      'recording-chain-disagrees',
      { line: 3, found: '51,agitate-end,hall,', expected: '50,agitate-end,hall,' },
    ],
    [
      'the context changed',
      'context.json',
      (t) => t.replace('"volume_l": 6.5', '"volume_l": 6.6'),
      'recording-context-differs',
      { file: 'context.json' },
    ],
    [
      'a link changed',
      'chain.jsonl',
      lines((l) => l.with(3, (l[3] ?? '').replace('"timeS":', '"timeS":1'))),
      'recording-chain-broken',
      { kind: 'changed', index: 2, line: 4 },
    ],
    [
      'a link dropped',
      'chain.jsonl',
      lines((l) => l.toSpliced(2, 1)),
      'recording-chain-broken',
      { kind: 'dropped', index: 1 },
    ],
    [
      'two links dropped',
      'chain.jsonl',
      lines((l) => l.toSpliced(2, 2)),
      'recording-chain-broken',
      { kind: 'dropped', index: 1, count: 2 },
    ],
    ['the end cut off', 'chain.jsonl', lines((l) => l.slice(0, -1)), 'recording-chain-broken', { kind: 'truncated' }],
    [
      'the head changed',
      'chain.jsonl',
      (t) => t.replace('Millrace', 'Millbank'),
      'recording-chain-broken',
      { kind: 'head', index: 0 },
    ],
    [
      'a line that is no JSON',
      'chain.jsonl',
      lines((l) => l.with(2, '{')),
      'recording-json',
      { file: 'chain.jsonl', line: 3 },
    ],
    [
      'a line that is no entry',
      'chain.jsonl',
      lines((l) => l.with(2, '{"index":1}')),
      'recording-chain-line',
      { line: 3, path: 'id' },
    ],
  ];
  test.each(cases)('%s: refused, and located', (_, name, change, code, params) => {
    const folder = copyWith(name, change);
    const problem = refusal(() => readRecording(folder));
    expect(problem?.code).toBe(code);
    expect(problem?.params).toMatchObject(params);
    const check = refusal(() => expect(verifyRecording(folder).sound).toBe(false));
    // A file that cannot be read at all is refused by the check too.
    expect(check === null || check.code === code).toBe(true);
  });

  const rows: [string, (text: string) => string][] = [
    ['a value changed', lines((l) => l.with(1000, (l[1000] ?? '').replace('999', '998')))],
    ['a row taken out', lines((l) => l.toSpliced(1000, 1))],
    ['a row put in', lines((l) => l.toSpliced(1000, 0, '99.85,1,12.5,,,'))],
  ];
  test.each(rows)('in recording.csv %s: read with a remark, found by the check, not imported', (_, change) => {
    const folder = copyWith('recording.csv', change);
    expect(readRecording(folder).remarks).toMatchObject([
      { code: 'recording-file-changed', params: { file: 'recording.csv' } },
      { code: 'recording-samples-changed', params: { fromS: 60, toS: 119.9 } },
    ]);
    expect(verifyRecording(folder)).toMatchObject({ sound: false, samples: { changed: [{ chunk: 1, fromS: 60 }] } });
    const store = openStore(newPlace());
    expect(refusal(() => importRecording(store, folder))?.code).toBe('recording-samples-changed');
    expect(store.runs()).toEqual([]);
    store.close();
  });

  test('a row that opened at the edge between two chunks is found', () => {
    const folder = copyWith(
      'recording.csv',
      lines((l) => l.toSpliced(601, 0, '59.95,1,12.5,,,')),
    );
    expect(verifyRecording(folder)).toMatchObject({ sound: false, samples: { changed: [{ chunk: 1 }] } });
  });

  test('rows after the last chained ones are told as not chained', () => {
    const folder = copyWith('recording.csv', (t) => `${t}300,1,12.5,,,\n`);
    rmSync(join(folder, 'datapackage.json'));
    expect(verifyRecording(folder)).toMatchObject({
      sound: false,
      samples: { rows: 2001, chained: 2000 },
      faults: [{ code: 'recording-samples-unchained', params: { count: 1 } }],
    });
  });

  test('events.csv missing is no loss while the chain is there', () => {
    const folder = copyWith('events.csv', () => null);
    expect(readRecording(folder).events).toHaveLength(4);
    expect(verifyRecording(folder)).toMatchObject({
      sound: false,
      faults: [{ code: 'recording-file-gone', params: { file: 'events.csv' } }],
    });
  });

  test('without its chain it is read, and proves nothing', () => {
    const folder = copyWith('chain.jsonl', () => null);
    expect(readRecording(folder)).toMatchObject({ chain: null });
    expect(verifyRecording(folder)).toMatchObject({ sound: false, chain: null });
  });

  test('a damaged data package is left aside with a remark', () => {
    const folder = copyWith('datapackage.json', (t) => t.slice(0, 40));
    expect(readRecording(folder).remarks).toMatchObject([{ code: 'recording-package-invalid' }]);
  });
});
