import { mkdtempSync, rmSync } from 'node:fs';
import { tmpdir } from 'node:os';
import { join } from 'node:path';
import { DatabaseSync } from '@photostructure/sqlite';
import { afterAll, beforeEach, describe, expect, test } from 'vitest';
import { Problem } from '../../../src/core/message/problem.ts';
import { verifyChain } from '../../../src/core/seal/verify.ts';
import { encodeChunk } from '../../../src/store/chunk.ts';
import { openStore } from '../../../src/store/open.ts';
import { sha256 } from '../../../src/store/rows.ts';
import type { NewEvent, RunStore, Store, StoredEvent } from '../../../src/store/store.ts';
import { eventOf, headOf, sampleAt } from '../../contracts/store.contract.ts';

const root = mkdtempSync(join(tmpdir(), 'limpid-chain-'));
let n = 0;
let folder: string;
let store: Store;
let run: RunStore;
beforeEach(() => {
  store?.close();
  n += 1;
  folder = join(root, String(n));
  store = openStore(folder);
  run = store.createRun(headOf('r1'));
});
afterAll(() => {
  store.close();
  rmSync(root, { recursive: true, force: true });
});
const kept = (): StoredEvent[] => run.events().filter((e) => e.event.event === 'samples-kept');

function codeOf(work: () => unknown): string {
  try {
    work();
  } catch (error) {
    if (error instanceof Problem) return error.code;
    throw error;
  }
  return 'nothing was wrong';
}

describe('samples in the chain', () => {
  test('a minute of samples is closed into a chunk, whose hash an event by the bridge holds', () => {
    const samples = Array.from({ length: 700 }, (_, i) => sampleAt(i / 10));
    for (const [i, s] of samples.entries()) {
      run.appendSample(s);
      if (i % 10 === 9) run.flush();
    }
    expect(kept()).toHaveLength(1);
    const first = samples.slice(0, 600);
    expect(kept()[0]).toMatchObject({
      index: 0,
      id: 'samples-kept-0',
      who: 'bridge',
      event: {
        timeS: 59.9,
        emitter: '',
        note: '',
        data: { chunk: 0, fromS: 0, toS: 59.9, count: 600, sha256: sha256(encodeChunk(first)) },
      },
    });
    expect(verifyChain(run.head, run.events(), sha256).intact).toBe(true);
  });

  test('fast samples are closed by count, a long gap does not stretch a chunk', () => {
    for (let i = 0; i < 9000; i++) run.appendSample(sampleAt(i / 1000));
    run.appendSample(sampleAt(500));
    run.flush();
    expect(kept().map((e) => e.event.data?.['count'])).toEqual([4096, 4096, 808]);
  });

  test('keepSamples brings all of them in, and nothing when there is nothing new', () => {
    run.appendSample(sampleAt(1));
    run.keepSamples();
    run.keepSamples();
    expect(kept().map((e) => e.event.data?.['count'])).toEqual([1]);
    expect([...run.samples()]).toEqual([sampleAt(1)]);
    run.appendSample(sampleAt(2));
    run.keepSamples();
    expect(kept().map((e) => e.event.data?.['chunk'])).toEqual([0, 1]);
  });
});

describe('what an event may be', () => {
  const withNote = (note: string): NewEvent => ({
    ...eventOf('a'),
    event: { timeS: 1, event: 'note', emitter: '', note, data: { litres: -0, by: '\udc00x' } },
  });

  test('half an emoji and a minus zero are mended, so that the hash fits what is read back', () => {
    const { stored } = run.appendEvent(withNote('cut \ud83d'));
    expect(stored.event).toEqual({
      timeS: 1,
      event: 'note',
      emitter: '',
      note: 'cut \ufffd',
      data: { litres: 0, by: '\ufffdx' },
    });
    expect(run.events()).toEqual([stored]);
    expect(verifyChain(run.head, run.events(), sha256).intact).toBe(true);
  });

  test('zero bytes, quotes and other scripts in a note are kept as they are', () => {
    const note = 'a\u0000b"\\\n\r\u2028Łódź 😀';
    run.appendEvent(withNote(note));
    expect(run.events()[0]?.event.note).toBe(note);
  });

  const bad: [string, Partial<NewEvent>][] = [
    ['a time that is no number', { event: { timeS: Number.NaN, event: 'note', emitter: '', note: '' } }],
    ['a time before the start', { event: { timeS: -1, event: 'note', emitter: '', note: '' } }],
    ['a name that is none', { event: { timeS: 1, event: 'Shouting!', emitter: '', note: '' } }],
    [
      'a number that is none in its data',
      { event: { timeS: 1, event: 'dose', emitter: '', note: '', data: { l: Infinity } } },
    ],
    ['no id', { id: '' }],
    ['an id with a blank', { id: 'a b' }],
    ["the store's own name", { event: { timeS: 1, event: 'samples-kept', emitter: '', note: '' } }],
    ["the store's own id", { id: 'samples-kept-0' }],
  ];
  test.each(bad)('%s is refused and not kept', (_, change) => {
    expect(codeOf(() => run.appendEvent({ ...eventOf('a'), ...change }))).toBe('store-event-invalid');
    expect(run.events()).toEqual([]);
  });

  test('the database itself refuses to change or delete an event', () => {
    run.appendEvent(eventOf('a'));
    store.close();
    const db = new DatabaseSync(join(folder, 'limpid.sqlite'));
    expect(() => db.exec("UPDATE events SET link = ''")).toThrow('only appended');
    expect(() => db.exec('DELETE FROM events')).toThrow('only appended');
    db.close();
  });
});

describe('a run chained elsewhere', () => {
  const samples = Array.from({ length: 1300 }, (_, i) => sampleAt(i / 10));
  const made = (): StoredEvent[] => {
    run.appendEvent(eventOf('a', 0));
    for (const s of samples) run.appendSample(s);
    run.flush();
    return run.events();
  };
  const into = (links: readonly StoredEvent[], rows = samples, head = headOf('r1')): string => {
    const other = openStore(join(root, `other-${(n += 1)}`));
    const code = codeOf(() => other.restoreRun(head, links, rows));
    if (code !== 'nothing was wrong') expect(other.runs()).toEqual([]);
    other.close();
    return code;
  };

  test('is taken in whole', () => expect(into(made())).toBe('nothing was wrong'));
  test('not with a link changed', () => {
    const links = made();
    expect(into(links.map((l) => (l.index === 0 ? { ...l, who: 'other' } : l)))).toBe('store-chain-broken');
  });
  test('not with another head', () => expect(into(made(), samples, headOf('r2'))).toBe('store-chain-broken'));
  test('not with a sample changed, nor with one gone', () => {
    const links = made();
    expect(into(links, samples.with(5, sampleAt(0.5, 9)))).toBe('store-samples-differ');
    expect(into(links, samples.slice(0, 1000))).toBe('store-samples-differ');
  });
});
