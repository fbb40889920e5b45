import { cpSync, mkdtempSync, readFileSync, rmSync, writeFileSync } from 'node:fs';
import { tmpdir } from 'node:os';
import { join } from 'node:path';
import { isDeepStrictEqual } from 'node:util';
import { afterAll, describe, expect, it } from 'vitest';
import { Problem } from '../../src/core/message/problem.ts';
import { readRecording } from '../../src/recording/read.ts';
import { salvageInto } from '../../src/run/salvage.ts';
import { openStore } from '../../src/store/open.ts';
import type { RunStore } from '../../src/store/store.ts';
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

const truthOf = (runId: string): 'first' | 'second' => (runId === made.runId ? 'first' : 'second');
type Report = ReturnType<typeof salvageInto>;

/** Salvaged, or null where the first page is gone, that holds the names of the tables. */
function salvaged(page: number, to: string): Report | null {
  try {
    return salvageInto(hurt(page), to);
  } catch (error) {
    if (error instanceof Problem && error.code === 'store-past-salvage') return null;
    throw error;
  }
}

/** What is not as a run that is said to be whole must be. */
function notWhole(run: Report['runs'][number], kept: RunStore | null): string[] {
  const truth = truthOf(run.run);
  const same =
    isDeepStrictEqual(kept?.events(), events[truth]) && isDeepStrictEqual([...(kept?.samples() ?? [])], samples[truth]);
  return same ? [] : [`${run.run} is said to be whole, and is not`];
}

/** What is not as a run of which something is gone must be. */
function notHonest(run: Report['runs'][number], report: Report, to: string): string[] {
  // Events alone are written, too, though they make no recording.
  const rescued = run.samples === 0 ? [] : readRecording(join(to, run.rescued ?? '')).samples;
  const known = new Set(samples[truthOf(run.run)].map((s) => s.timeS));
  const faults: string[] = [];
  if (!rescued.every((s) => known.has(s.timeS))) faults.push('a sample that never was');
  // Not sure to be whole is said only when something is gone, and then all that is left is given.
  if (Object.keys(report.unreadable).length + run.lost.length === 0) faults.push('nothing is gone');
  for (const [fromS, toS] of run.lost)
    if (rescued.some((s) => s.timeS >= fromS && s.timeS <= toS))
      faults.push(`${fromS} s is said to be lost, and is there`);
  if (rescued.length !== run.samples) faults.push('another number of samples than was said');
  return faults;
}

describe('a store with a ruined page', () => {
  it('gives back all of it that is not on that page, and says what is lost', () => {
    const seen = { whole: 0, part: 0, none: 0 };
    const faults: string[] = [];
    for (let page = 0; page < pages; page += page < 8 ? 1 : 17) {
      const to = mkdtempSync(join(place, 't'));
      const report = salvaged(page, to);
      if (report === null) {
        seen.none += 1;
        continue;
      }
      const store = openStore(to);
      for (const run of report.runs) {
        const kept = store.openRun(run.run);
        const chain = kept?.events() ?? [];
        // What the store holds is the chain from its beginning, unchanged.
        if (!isDeepStrictEqual(chain, events[truthOf(run.run)].slice(0, chain.length))) faults.push('another chain');
        faults.push(...(run.state === 'whole' ? notWhole(run, kept) : notHonest(run, report, to)));
        seen[run.state] += 1;
      }
      store.close();
    }
    expect(faults).toEqual([]);
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
