import { cpSync, mkdtempSync, readFileSync, rmSync, writeFileSync } from 'node:fs';
import { tmpdir } from 'node:os';
import { join } from 'node:path';
import { afterAll, describe, expect, it } from 'vitest';
import { Problem } from '../../src/core/message/problem.ts';
import { readRecording } from '../../src/recording/read.ts';
import { salvageInto } from '../../src/run/salvage.ts';
import { openStore } from '../../src/store/open.ts';
import { headOf, rig } from '../peers/firm/rig.ts';

const place = mkdtempSync(join(tmpdir(), 'limpid-hurt-'));
const made = rig('van-1');
made.record(12);
const second = made.store.createRun(headOf('second'));
for (let i = 0; i < 900; i++) second.appendSample({ ...[...made.run.samples(0, 1)][0], timeS: i } as never);
second.keepSamples();
const events = { first: made.run.events(), second: second.events() };
const samples = { first: [...made.run.samples()], second: [...second.samples()] };
made.store.close();
afterAll(() => {
  rmSync(place, { recursive: true, force: true });
  rmSync(made.folder, { recursive: true, force: true });
});

const pageBytes = 4096;
const file = join(made.folder, 'limpid.sqlite');
const pages = readFileSync(file).length / pageBytes;

/** The store with one page of its file filled with rubbish. */
function hurt(page: number): string {
  const folder = mkdtempSync(join(place, 'd'));
  cpSync(made.folder, folder, { recursive: true });
  const bytes = readFileSync(file);
  bytes.fill(0xa5, page * pageBytes, (page + 1) * pageBytes);
  writeFileSync(join(folder, 'limpid.sqlite'), bytes);
  return folder;
}

describe('a store with a ruined page', () => {
  it('gives back all of it that is not on that page, and says what is lost', () => {
    const seen = { whole: 0, part: 0, none: 0 };
    for (let page = 0; page < pages; page += page < 8 ? 1 : 17) {
      const to = mkdtempSync(join(place, 't'));
      let report: ReturnType<typeof salvageInto>;
      try {
        report = salvageInto(hurt(page), to);
      } catch (error) {
        // The first page holds the names of the tables: without it nothing can be found.
        expect(error).toBeInstanceOf(Problem);
        expect(error).toMatchObject({ code: 'store-past-salvage' });
        seen.none += 1;
        continue;
      }
      const store = openStore(to);
      for (const run of report.runs) {
        const truth = run.run === made.runId ? 'first' : 'second';
        const back = store.openRun(run.run);
        // What the store holds is the chain from its beginning, unchanged.
        expect(back?.events() ?? []).toEqual(events[truth].slice(0, back?.events().length ?? 0));
        if (run.state === 'whole') {
          expect(back?.events()).toEqual(events[truth]);
          expect([...(back?.samples() ?? [])]).toEqual(samples[truth]);
        } else {
          // Events alone are written, too, though they make no recording.
          const rescued = run.samples === 0 ? [] : readRecording(join(to, run.rescued ?? '')).samples;
          const known = new Set(samples[truth].map((s) => s.timeS));
          expect(rescued.every((s) => known.has(s.timeS))).toBe(true);
          // Not sure to be whole is said only when something is gone, and then all that is left is given.
          expect(Object.keys(report.unreadable).length + run.lost.length).toBeGreaterThan(0);
          for (const [fromS, toS] of run.lost)
            expect(rescued.some((s) => s.timeS >= fromS && s.timeS <= toS)).toBe(false);
          expect(rescued.length).toBe(run.samples);
        }
        seen[run.state] += 1;
      }
      store.close();
    }
    expect(seen.whole).toBeGreaterThan(0);
    expect(seen.part).toBeGreaterThan(0);
    expect(seen.none).toBeLessThanOrEqual(2);
  });

  it('loses no minute but those on the page', () => {
    const to = mkdtempSync(join(place, 't'));
    const report = salvageInto(hurt(Math.floor(pages / 2)), to);
    for (const run of report.runs) {
      const truth = samples[run.run === made.runId ? 'first' : 'second'];
      expect(run.samples).toBeGreaterThanOrEqual(truth.length - 2 * 600);
    }
  });
});
