import {
  appendFileSync,
  cpSync,
  mkdirSync,
  mkdtempSync,
  readdirSync,
  readFileSync,
  rmSync,
  writeFileSync,
} from 'node:fs';
import { tmpdir } from 'node:os';
import { join } from 'node:path';
import { afterAll, beforeAll, describe, expect, it } from 'vitest';
import { Problem } from '../../../src/core/message/problem.ts';
import { exportAll, exportZip, fileNameOf, takeInAll, takeInZip } from '../../../src/recording/bulk.ts';
import { eventRow } from '../../../src/recording/events-csv.ts';
import { sealedFolder, sealRun } from '../../../src/recording/sealed.ts';
import { verifyRecording } from '../../../src/recording/verify.ts';
import { writeRecording } from '../../../src/recording/write.ts';
import { openStore } from '../../../src/store/open.ts';
import type { Store } from '../../../src/store/store.ts';
import { keepDemo } from '../../browser/office-world.ts';
import { demoRun } from '../report/demo-run.ts';

const home = mkdtempSync(join(tmpdir(), 'limpid-bulk-'));
const at = (name: string): string => join(home, name);
const demo = demoRun();
const events = demo.events.filter((e) => e.event !== 'photo');
let store: Store;

beforeAll(() => {
  store = openStore(at('data'));
  keepDemo(store, 'run-a', { ...demo, events }, '2026-03-04T08:05:00.000Z');
  const sealed = keepDemo(store, 'run/b: c', { ...demo, events }, '2026-03-05T08:05:00.000Z');
  sealRun(at('data'), sealed, {
    by: 'A',
    who: 'bridge',
    timeS: sealed.lastTimeS(),
    wallAt: '2026-03-05T10:00:00.000Z',
  });
});
afterAll(() => {
  store.close();
  rmSync(home, { recursive: true, force: true });
});

describe('exportAll', () => {
  it('writes every run, goes on where it was cut off, and each is sound', async () => {
    const ids = store.runs().map((r) => r.runId);
    const first = await exportAll(at('data'), store, ids, at('all'));
    expect(first).toEqual({ written: ids, kept: [], refused: [] });
    rmSync(join(at('all'), 'run-a', 'datapackage.json'));
    const told: number[] = [];
    const second = await exportAll(at('data'), store, ids, at('all'), (done) => told.push(done));
    expect(second).toEqual({ written: ['run-a'], kept: ['run/b: c'], refused: [] });
    expect(told).toEqual([1, 2]);
    for (const name of readdirSync(at('all'))) expect(verifyRecording(join(at('all'), name)).sound).toBe(true);
  });

  it('says which run could not be written, and writes the others', async () => {
    const { written, refused } = await exportAll(at('data'), store, ['no-such', 'run-a'], at('some'));
    expect(written).toEqual(['run-a']);
    expect(refused).toEqual([{ runId: 'no-such', why: expect.stringContaining('no-such') }]);
  });

  it('gives each run a name of its own that leads nowhere else', () => {
    const names = ['run-a', '../x', '..', 'a/b', 'a:b', 'a b', ''].map(fileNameOf);
    expect(new Set(names).size).toBe(names.length);
    for (const name of names) expect(name).toMatch(/^[A-Za-z0-9][A-Za-z0-9._-]*$/);
  });
});

describe('a zip of a run', () => {
  it('comes back as the very run that it was, sealed or not, in another store', () => {
    const other = openStore(at('other'));
    for (const runId of ['run-a', 'run/b: c']) {
      const run = store.openRun(runId);
      if (run === null) throw new Error('no run');
      exportZip(at('data'), run, at('one.zip'));
      expect(takeInZip(at('other'), other, at('one.zip'))).toBe(runId);
      expect(other.openRun(runId)?.events()).toEqual(run.events());
      expect(takeInZip(at('other'), other, at('one.zip'))).toBe(runId);
    }
    expect(verifyRecording(sealedFolder(at('other'), 'run/b: c')).sound).toBe(true);
    expect(readdirSync(join(at('other'), 'work'))).toEqual([]);
    other.close();
  });
});

describe('takeInAll', () => {
  it('takes in what can be used, and says of each other one what is wrong', async () => {
    const folder = at('many');
    mkdirSync(join(folder, 'deeper'), { recursive: true });
    const plain = (name: string): string => {
      const path = join(folder, name);
      writeRecording(path, { context: demo.context, samples: demo.samples.slice(0, 50), events: [] });
      return path;
    };
    plain('good');
    const run = store.openRun('run-a');
    if (run === null) throw new Error('no run');
    exportZip(at('data'), run, join(folder, 'deeper', 'also-good.zip'));
    cpSync(sealedFolder(at('data'), 'run/b: c'), join(folder, 'touched'), { recursive: true });
    appendFileSync(join(folder, 'touched', 'recording.csv'), '99999,1,1,1,1,1\n');
    writeFileSync(join(folder, 'no.zip'), 'not a zip');
    const utf16 = plain('utf16');
    writeFileSync(join(utf16, 'recording.csv'), Buffer.from('\ufefftime_s,turbidity_ntu\n1,2\n', 'utf16le'));
    const latin = plain('latin');
    writeFileSync(join(latin, 'events.csv'), Buffer.from('time_s,event,emitter,note\n1,note,,K\u00fcche\n', 'latin1'));
    const huge = plain('huge');
    writeFileSync(
      join(huge, 'recording.csv'),
      'time_s,turbidity_ntu,flow_lpm,pressure_bar,temperature_c,conductivity_us_cm\n1,1e308,1,1,1,1\n',
    );
    const endless = plain('endless');
    writeFileSync(
      join(endless, 'recording.csv'),
      'time_s,turbidity_ntu,flow_lpm,pressure_bar,temperature_c,conductivity_us_cm\n1e999,1,1,1,1,1\n',
    );
    const other = openStore(at('taker'));
    const { taken, refused } = await takeInAll(at('taker'), other, folder);
    expect(taken.map((t) => t.from).sort()).toEqual(['deeper/also-good.zip', 'good']);
    expect(Object.fromEntries(refused.map((r) => [r.from, r.code]))).toEqual({
      'no.zip': 'recording-no-zip',
      touched: 'seal-file-changed',
      utf16: 'recording-encoding',
      latin: 'recording-encoding',
      huge: 'recording-absurd',
      endless: expect.stringMatching(/^recording-(not-a-number|time-range)$/),
    });
    for (const { why } of refused) expect(why).toMatch(/^[^{]+\.$/);
    const again = await takeInAll(at('taker'), other, folder);
    expect(Object.fromEntries(again.taken.map((t) => [t.from, t.known]))).toEqual({
      'deeper/also-good.zip': true,
      good: true,
    });
    other.close();
  });

  it('says so when there is nothing to take in', async () => {
    mkdirSync(at('empty'), { recursive: true });
    for (const folder of [at('empty'), at('nowhere')])
      await expect(takeInAll(at('data'), store, folder)).rejects.toThrow(Problem);
  });
});

describe('a cell that a spreadsheet could take for a formula', () => {
  it.each(['=1+1', '+1', '-1', '@SUM(A1)', '\tx', '=cmd|"/c calc"!A0'])(
    '%j leaves as text and comes back as it was',
    (note) => {
      const row = eventRow({ timeS: 1, event: 'note', emitter: '', note });
      expect(row.replace(/^1,note,,"?/, '')).toMatch(/^'/);
      const folder = at(`formula-${Buffer.from(note).toString('hex')}`);
      const event = { timeS: 1, event: 'note', emitter: '', note };
      writeRecording(folder, { context: demo.context, samples: demo.samples.slice(0, 5), events: [event] });
      expect(readFileSync(join(folder, 'events.csv'), 'utf8')).not.toMatch(/(^|,)"?[=+\-@\t]/m);
    },
  );
});
