import { appendFileSync, cpSync, rmSync, writeFileSync } from 'node:fs';
import { join } from 'node:path';
import { beforeAll, describe, expect, test } from 'vitest';
import { say } from '../../../src/core/message/message.ts';
import { keepDetails, runFolder } from '../../../src/recording/run-files.ts';
import { sealedFolder, sealRun } from '../../../src/recording/sealed.ts';
import { verifyStored } from '../../../src/recording/stored.ts';
import { openStore } from '../../../src/store/open.ts';
import { eventOf, headOf, sampleAt } from '../../contracts/store.contract.ts';
import { tamper } from '../../tamper-store.ts';
import { newPlace } from './samples.ts';

const runId = 'r1';
const sealing = { by: 'A. Engineer', who: 'loopback', timeS: 200, wallAt: '2026-01-02T03:04:05.000Z' };
let whole = '';

/** 200 s of samples in four chunks, some that came late, an event, a file beside it, and the seal. */
beforeAll(() => {
  whole = newPlace();
  const store = openStore(whole);
  const run = store.createRun(headOf(runId));
  run.appendEvent(eventOf('first', 0.5, 'emitter-open'));
  const details = keepDetails(whole, runId, { client: 'B. Client', site: '7 Example Row' });
  const named = eventOf('signed', 150, 'hand-over');
  for (let i = 0; i < 2000; i++) run.appendSample(sampleAt(i / 10, i % 50));
  run.appendEvent({ ...named, event: { ...named.event, data: { ...details } } });
  for (const timeS of [40.05, 41.05]) run.appendLate(sampleAt(timeS, 7));
  sealRun(whole, run, sealing);
  store.close();
});

/** The same data folder, changed. */
function changed(change: (data: string) => void): string {
  const data = newPlace();
  cpSync(whole, data, { recursive: true });
  change(data);
  return data;
}

function faultsIn(data: string) {
  const store = openStore(data);
  try {
    const run = store.openRun(runId);
    if (!run) throw new Error('the run is gone');
    return verifyStored(data, run).faults;
  } finally {
    store.close();
  }
}

describe('a run of the store is held to its chain, its samples and its seal', () => {
  test('nothing is found against one that is as it was kept, sealed or not', () => {
    expect(faultsIn(whole)).toEqual([]);
    expect(faultsIn(changed((data) => rmSync(join(data, 'sealed'), { recursive: true })))).toEqual([]);
  });

  const oneByOne: readonly (readonly [string, string, string, RegExp])[] = [
    [
      'an event changed',
      `UPDATE events SET link = replace(link, '"emitter":"hall"', '"emitter":"loft"') WHERE id = 'first'`,
      'stored-chain-broken',
      /entry 0 \(\S+, \d+ s\) was changed after it was kept/,
    ],
    ['an event taken out', `DELETE FROM events WHERE id = 'first'`, 'stored-chain-broken', /entry 0 is missing/],
    [
      'the end cut off',
      `DELETE FROM events WHERE idx = (SELECT max(idx) FROM events)`,
      'stored-chain-broken',
      /entry \d+ is missing at the end/,
    ],
    [
      'the survey changed',
      `UPDATE runs SET head = replace(head, '"volume_l":6.5', '"volume_l":65')`,
      'stored-chain-broken',
      /what the run began with/,
    ],
    [
      'a sample changed',
      `UPDATE chunks SET body = CAST(substr(body, 1, length(body) - 8) || x'0000000000000000' AS BLOB) WHERE chunk = 1`,
      'stored-samples-changed',
      /the samples from 60 s to 119\.9 s are not those/,
    ],
    [
      'a late sample changed',
      `UPDATE chunks SET body = CAST(substr(body, 1, length(body) - 8) || x'0000000000000000' AS BLOB) WHERE chunk = -1`,
      'stored-samples-changed',
      /from 40\.05 s to 41\.05 s/,
    ],
    ['samples taken out', 'DELETE FROM chunks WHERE chunk = 2', 'stored-samples-gone', /from 120 s to 179\.9 s/],
    [
      'samples put in',
      'INSERT INTO chunks (run, chunk, from_s, to_s, count, body) SELECT run, 9, 300, 359.9, count, body FROM chunks WHERE chunk = 0',
      'stored-samples-put-in',
      /from 300 s to 359\.9 s/,
    ],
    [
      'samples put where none would look for them',
      'UPDATE chunks SET from_s = 5000 WHERE chunk = 0',
      'stored-samples-changed',
      /from 0 s to 59\.9 s/,
    ],
    [
      'samples put in behind the seal',
      'INSERT INTO tail (run, body) SELECT run, body FROM chunks WHERE chunk = 0',
      'stored-samples-after-seal',
      /600 samples were put in/,
    ],
    [
      'a row that is no entry',
      `UPDATE events SET link = '{"index":0}' WHERE id = 'first'`,
      'store-row-unreadable',
      /Run r1: entry 0 in limpid\.sqlite cannot be read/,
    ],
    [
      'a row that is no JSON',
      `UPDATE events SET link = 'rubbish' WHERE id = 'first'`,
      'store-row-unreadable',
      /entry 0 in limpid\.sqlite cannot be read/,
    ],
    [
      'a chunk that is no bytes',
      `UPDATE chunks SET body = 'rubbish' WHERE chunk = 1`,
      'store-row-unreadable',
      /chunk 1 of the samples/,
    ],
    [
      'a chunk at no time',
      `UPDATE chunks SET to_s = 'x' WHERE chunk = 1`,
      'store-row-unreadable',
      /a chunk of samples/,
    ],
  ];
  test.each(oneByOne)('%s', (_, sql, code, words) => {
    const faults = faultsIn(changed((data) => tamper(data, sql)));
    expect(faults.map((f) => f.code)).toEqual([code]);
    expect(faults.map(say).join()).toMatch(words);
  });

  test('a whole chain written anew does not end as what was sealed', () => {
    const data = changed((at) => rmSync(join(at, 'limpid.sqlite')));
    const store = openStore(data);
    const run = store.createRun(headOf(runId));
    for (let i = 0; i < 2000; i++) run.appendSample(sampleAt(i / 10, 1));
    run.keepSamples();
    store.close();
    expect(faultsIn(data).length).toBeGreaterThan(0);
    // And when the sealed chain cannot be read either, the seal still knows the last entry.
    writeFileSync(join(sealedFolder(data, runId), 'chain.jsonl'), '');
    expect(faultsIn(data).map((f) => f.code)).toContain('stored-seal-head');
  });

  test('a sealed file changed, and the names of client and place', () => {
    const touched = changed((data) => appendFileSync(join(sealedFolder(data, runId), 'events.csv'), '9,note,,x\n'));
    expect(faultsIn(touched).map(say).join()).toContain('events.csv, line');
    const renamed = changed((data) => {
      const details = { v: 1, client: 'Other', site: 'Elsewhere', salt: '' };
      writeFileSync(join(runFolder(data, runId), 'files', 'details.json'), JSON.stringify(details));
    });
    expect(faultsIn(renamed).map((f) => f.code)).toEqual(['stored-file-changed']);
  });

  test('a sealed record that cannot be read is told as a fault', () => {
    const gone = changed((data) => {
      for (const name of ['recording.csv', 'seal.json']) rmSync(join(sealedFolder(data, runId), name));
    });
    expect(faultsIn(gone).map(say).join()).toContain('recording.csv');
  });
});

test('a last entry or a head that cannot be read refuses the run in words', () => {
  for (const sql of [
    `UPDATE events SET link = 'rubbish' WHERE idx = (SELECT max(idx) FROM events)`,
    `UPDATE events SET time_s = 'late' WHERE id = 'first'`,
    `UPDATE runs SET head = '{}'`,
  ])
    expect(() => faultsIn(changed((data) => tamper(data, sql)))).toThrow(
      expect.objectContaining({ code: 'store-row-unreadable' }),
    );
});
