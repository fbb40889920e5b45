import { mkdirSync, readdirSync, readFileSync, rmSync, writeFileSync } from 'node:fs';
import { createHash } from 'node:crypto';
import { join } from 'node:path';
import fc from 'fast-check';
import { describe, expect, test } from 'vitest';
import type { RunEvent } from '../../../src/core/job/event.ts';
import { Problem } from '../../../src/core/message/problem.ts';
import { channels } from '../../../src/core/quantity/channels.ts';
import { emptySample, roundToChannel, type Sample } from '../../../src/core/quantity/sample.ts';
import { guardText, unguardText } from '../../../src/recording/csv.ts';
import {
  exportRun,
  importRecording,
  readRecording,
  verifyRecording,
  writeRecording,
} from '../../../src/recording/recording.ts';
import { openStore } from '../../../src/store/open.ts';
import type { NewEvent, RunStore, Store } from '../../../src/store/store.ts';
import { headOf, sampleAt } from '../../contracts/store.contract.ts';
import { context, folderWith, header, newPlace } from './samples.ts';

const codeOf = (work: () => unknown): string => {
  try {
    work();
  } catch (error) {
    if (error instanceof Problem) return error.code;
    throw error;
  }
  return 'nothing was wrong';
};

// Text as people and attackers type it: signs of formulas, quotes, line breaks, other scripts.
const text = fc.array(
  fc.oneof(
    fc.constantFrom('=', '+', '-', '@', "'", '"', ',', ';', '\n', '\r\n', '\r', '\t', ' ', 'é', '€', '😀', '\u0000'),
    fc.string({ unit: 'grapheme', maxLength: 4 }),
  ),
  { maxLength: 8 },
);
const words = text.map((parts) => parts.join(''));

const sample = fc
  .tuple(...channels.map((c) => fc.option(fc.double({ min: c.min, max: c.max, noNaN: true }))))
  .map((values) => {
    const made = emptySample(0);
    for (const [i, c] of channels.entries()) {
      const value = values[i] ?? null;
      made[c.key] = value === null ? null : roundToChannel(value, c.decimals);
    }
    return made;
  });
const samples = fc
  .array(fc.tuple(fc.double({ min: 0.001, max: 40, noNaN: true }), sample), { minLength: 1, maxLength: 30 })
  .map((rows) => {
    let timeS = 0;
    return rows.map(([gapS, row]): Sample => {
      timeS += gapS;
      return { ...row, timeS };
    });
  });
/** In any order, as kept packs come. */
const late = fc.array(
  fc.tuple(fc.double({ min: 0, max: 100, noNaN: true }), sample).map(([t, s]): Sample => ({ ...s, timeS: t + 0 })),
  { maxLength: 20 },
);
const event: fc.Arbitrary<RunEvent> = fc.record(
  {
    timeS: fc.double({ min: 0, max: 1000, noNaN: true }).map((t) => t + 0),
    event: fc.constantFrom('emitter-open', 'note', 'stage:rinse', 'dog-barked', 'agitate-end'),
    emitter: words.map((w) => w.slice(0, 60).replace(/\p{Surrogate}/gu, '')),
    note: words,
    data: fc.dictionary(fc.string({ maxLength: 5 }), fc.oneof(fc.boolean(), fc.integer(), fc.constant(null), words)),
  },
  { requiredKeys: ['timeS', 'event', 'emitter', 'note'] },
);

function withStore<T>(work: (store: Store) => T): T {
  const place = newPlace();
  const store = openStore(place);
  try {
    return work(store);
  } finally {
    store.close();
    rmSync(place, { recursive: true });
  }
}

function fill(run: RunStore, rows: readonly Sample[], events: readonly RunEvent[], late: readonly Sample[] = []): void {
  for (const [i, row] of rows.entries()) {
    run.appendSample(row);
    if (i % 7 === 6) run.flush();
  }
  for (const [i, row] of late.entries()) {
    run.appendLate(row);
    if (i % 7 === 6) run.keepSamples();
  }
  for (const [i, e] of events.entries()) {
    const news: NewEvent = { id: `e${i}`, event: e, who: 'loopback', wallAt: '2026-03-02T08:00:00.000Z' };
    run.appendEvent(news);
  }
}

const picture = (run: RunStore | null) =>
  run && { head: run.head, events: run.events(), samples: [...run.samples()], late: run.late() };

describe('export = import', () => {
  test('a run exported and taken into another store is the same run, hash for hash', () => {
    fc.assert(
      fc.property(samples, fc.array(event, { maxLength: 12 }), late, (rows, events, kept) => {
        const [folder, again] = [newPlace(), newPlace()];
        const first = withStore((store) => {
          const run = store.createRun(headOf('r1'));
          fill(run, rows, events, kept);
          exportRun(run, folder);
          return picture(run);
        });
        expect(verifyRecording(folder)).toMatchObject({ sound: true, faults: [] });
        withStore((store) => {
          expect(importRecording(store, folder)).toBe('r1');
          expect(picture(store.openRun('r1'))).toEqual(first);
          // Once more changes nothing.
          expect(importRecording(store, folder)).toBe('r1');
          const run = store.openRun('r1');
          if (run) exportRun(run, again);
        });
        const textsIn = (place: string): string[] =>
          readdirSync(place).map((name) => readFileSync(join(place, name), 'utf8'));
        expect(readdirSync(again)).toEqual(readdirSync(folder));
        expect(textsIn(again)).toEqual(textsIn(folder));
      }),
      { numRuns: 40 },
    );
  });

  test('what is written without a chain is read back: samples bit for bit, texts letter for letter', () => {
    fc.assert(
      fc.property(samples, fc.array(event, { maxLength: 12 }), (rows, events) => {
        const folder = newPlace();
        writeRecording(folder, { context, samples: rows, events });
        const back = readRecording(folder);
        expect(back.samples).toEqual(rows);
        const plain = events.map(({ timeS, event: name, emitter, note }) => ({ timeS, event: name, emitter, note }));
        expect(back.events).toEqual(plain.sort((a, b) => a.timeS - b.timeS));
        expect(back.context).toEqual(context);
      }),
      { numRuns: 60 },
    );
  });

  test('a recording from elsewhere becomes a run that is chained from then on, and exports to itself', () => {
    const folder = folderWith({});
    const out = newPlace();
    withStore((store) => {
      const runId = importRecording(store, folder, '2026-03-03T09:00:00.000Z');
      expect(runId).toMatch(/^import-[0-9a-f]{12}$/);
      const run = store.openRun(runId);
      expect([...(run?.samples() ?? [])]).toEqual(readRecording(folder).samples);
      expect(run?.events().map((e) => [e.who, e.event.event])).toEqual([
        ['import', 'emitter-open'],
        ['bridge', 'samples-kept'],
      ]);
      if (run) exportRun(run, out);
    });
    expect(readRecording(out)).toMatchObject({ samples: readRecording(folder).samples, remarks: [] });
    expect(readFileSync(join(out, 'recording.csv'), 'utf8')).toBe(readFileSync(join(folder, 'recording.csv'), 'utf8'));
  });

  test('a recording from elsewhere taken in twice changes nothing; other content under its id is refused', () => {
    const theirs = { ...context, run_id: 'theirs' };
    const files = { 'context.json': JSON.stringify(theirs), 'late.csv': `${header}\n0.5,7,12,1.2,40,400\n` };
    withStore((store) => {
      expect(importRecording(store, folderWith(files), '2026-03-03T09:00:00.000Z')).toBe('theirs');
      const kept = picture(store.openRun('theirs'));
      // A copy of another name, at another time, is the same content.
      expect(importRecording(store, folderWith(files))).toBe('theirs');
      expect(picture(store.openRun('theirs'))).toEqual(kept);
      for (const other of [
        { 'context.json': JSON.stringify({ ...theirs, loop_volume_l: 77 }) },
        { 'events.csv': 'time_s,event,emitter,note\n' },
        { 'late.csv': files['late.csv'].replace('7', '8') },
        { 'recording.csv': `${header}\n0,1,12,1.2,40,400\n1,3,12,1.2,40,400\n` },
      ])
        expect(codeOf(() => importRecording(store, folderWith({ ...files, ...other })))).toBe('recording-run-exists');
      expect(picture(store.openRun('theirs'))).toEqual(kept);
    });
  });

  test('a longer run: chunks, tail and export agree', () => {
    const folder = newPlace();
    withStore((store) => {
      const run = store.createRun(headOf('r1'));
      for (let i = 0; i < 3000; i++) {
        run.appendSample(sampleAt(roundToChannel(i / 10, 1), roundToChannel(i * 0.37, 4)));
        if (i % 10 === 0) run.flush();
      }
      exportRun(run, folder);
    });
    const check = verifyRecording(folder);
    expect(check).toMatchObject({ sound: true, samples: { rows: 3000, chained: 3000, changed: [] } });
    expect(check.chain).toMatchObject({ intact: true, end: { count: 5 } });
  });

  test('no cell of an export begins a formula, and its text comes back', () => {
    fc.assert(
      fc.property(words, (word) => {
        expect(guardText(word)).not.toMatch(/^[=+\-@\t\r]/);
        expect(unguardText(guardText(word))).toBe(word);
      }),
    );
  });
});

describe('where an export may be written', () => {
  const exported = (folder: string, runId = 'r1'): string =>
    withStore((store) => {
      const run = store.createRun(headOf(runId));
      fill(run, [sampleAt(1)], []);
      return codeOf(() => exportRun(run, folder));
    });

  test('a new folder, an empty one, and one that holds the same run', () => {
    const folder = newPlace();
    expect(exported(folder)).toBe('nothing was wrong');
    expect(exported(folder)).toBe('nothing was wrong');
    expect(readRecording(folder).samples).toEqual([sampleAt(1)]);
  });

  test('not over other files, not over another run, not over a file', () => {
    const other = newPlace();
    mkdirSync(other, { recursive: true });
    writeFileSync(join(other, 'letter.txt'), 'dear');
    expect(exported(other)).toBe('recording-folder-taken');
    expect(readdirSync(other)).toEqual(['letter.txt']);
    const taken = newPlace();
    exported(taken, 'r1');
    expect(exported(taken, 'r2')).toBe('recording-folder-taken');
    expect(readRecording(taken).chain?.head.runId).toBe('r1');
    expect(exported(join(other, 'letter.txt'))).toBe('recording-folder-taken');
    expect(exported(join(other, 'letter.txt', 'below'))).toBe('recording-not-writable');
  });
});

describe('datapackage.json', () => {
  test('names each file with its size and hash, and each column with its unit', () => {
    const folder = newPlace();
    withStore((store) => {
      const run = store.createRun(headOf('r1'));
      fill(run, [{ ...sampleAt(1), supplyC: 60 }], [{ timeS: 0, event: 'note', emitter: '', note: '' }]);
      exportRun(run, folder);
    });
    const made = JSON.parse(readFileSync(join(folder, 'datapackage.json'), 'utf8'));
    // Required by Data Package 2.0: resources, each with name and path (or data); names lower-case, unique.
    expect(made.$schema).toBe('https://datapackage.org/profiles/2.0/datapackage.json');
    expect(made.resources.map((r: { path: string }) => r.path).sort()).toEqual(
      readdirSync(folder)
        .filter((name) => name !== 'datapackage.json')
        .sort(),
    );
    for (const { path, name, bytes, hash } of made.resources) {
      const file = readFileSync(join(folder, path));
      expect(name).toMatch(/^[a-z0-9._-]+$/);
      expect(bytes).toBe(file.length);
      expect(hash).toBe(`sha256:${createHash('sha256').update(file).digest('hex')}`);
    }
    const fields = made.resources[0].schema.fields;
    expect(fields.map((f: { name: string }) => f.name).join(',')).toBe(
      readFileSync(join(folder, 'recording.csv'), 'utf8').split('\n')[0],
    );
    expect(fields.map((f: { unit: string }) => f.unit)).toEqual(['s', 'NTU', 'l/min', 'bar', '°C', 'µS/cm', '°C']);
  });
});
