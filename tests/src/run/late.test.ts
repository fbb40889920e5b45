import { mkdtempSync, rmSync } from 'node:fs';
import { tmpdir } from 'node:os';
import { join } from 'node:path';
import { afterEach, expect, test } from 'vitest';
import { encodeLine, type PackToSend } from '../../../firmware-bridge/wire/encode.ts';
import { createAnalysis } from '../../../src/core/analyse.ts';
import { analyseRecording } from '../../../src/core/analyse-recording.ts';
import { exportRun, readRecording } from '../../../src/recording/recording.ts';
import { Run } from '../../../src/run/run.ts';
import type { LiveMessage } from '../../../src/server/protocol.ts';
import { openStore } from '../../../src/store/open.ts';
import { head } from '../core/job/job-cases.ts';
import { SteppedClock } from './stepped-clock.ts';

const ends: (() => void)[] = [];
afterEach(() => {
  for (const end of ends.splice(0).reverse()) end();
});

/** A run with a kit that is away now and then, and keeps what it reads meanwhile. */
function rig() {
  const folder = mkdtempSync(join(tmpdir(), 'limpid-late-'));
  const store = openStore(folder);
  const runStore = store.createRun(head);
  const clock = new SteppedClock();
  const faults: unknown[] = [];
  const run = new Run({ store: runStore, clock, createAnalysis, source: 'a test', fault: (e) => faults.push(e) });
  ends.push(() => {
    run.stop();
    store.close();
    rmSync(folder, { recursive: true, force: true });
    expect(faults).toEqual([]);
  });
  let seq = 0;
  const kept: PackToSend[] = [];
  const send = (pack: PackToSend): void => run.bytes(encodeLine(pack), clock.nowS());
  const live = (seconds: number, isAway = false, passAtS = -1): void => {
    for (let i = 0; i < seconds * 10; i++) {
      clock.run(0.1);
      const pass = i === passAtS * 10;
      const values = { turbidityNtu: 20 + (seq % 3), flowLpm: 15 };
      const pack = { kit: 'urn:dev:mac:1', boot: 1, seq, upS: seq++ / 10, values, ...(pass ? { pass } : {}) };
      if (isAway) kept.push({ ...pack, late: true });
      else send(pack);
    }
  };
  /** All of it twice, as a kit that got no receipt does. */
  const comeBack = (): void => {
    const all = kept.splice(0);
    for (const pack of [...all, ...all]) send(pack);
  };
  let taps = 0;
  const post = (event: string, emitter = ''): Promise<unknown> =>
    run.post({ id: `tap-${++taps}-long`, event, emitter, note: '', agoS: 0 }, 'loopback');
  return { folder, store, runStore, clock, run, live, comeBack, post };
}

const times = (run: Run): number[] => run.trace(0, 1e9).rows.flatMap((r) => (r[1] === null ? [] : [r[0]]));

test('what a kit had kept fills the trace, pages are told once, and what was said stands', async () => {
  const r = rig();
  const told: LiveMessage['type'][] = [];
  r.run.listen((m) => told.push(m.type));
  r.live(5);
  await r.post('stage:emitters');
  await r.post('emitter-open', 'a');
  r.live(20);
  r.live(12, true);
  expect(r.run.view().verdict.state).toBe('cannot-tell');
  const spans = JSON.stringify(r.run.course.spans);
  const before = times(r.run).length;
  r.comeBack();
  expect(JSON.stringify(r.run.course.spans)).toBe(spans);
  r.live(10);
  expect(times(r.run)).toHaveLength(before + 120 + 100);
  const gaps = times(r.run).map((t, i, all) => t - (all[i - 1] ?? t));
  expect(Math.max(...gaps)).toBeLessThan(0.15);
  expect(told.filter((type) => type === 'refetch')).toHaveLength(1);
  expect(r.run.view().counters.find((c) => c.code === 'placedLate')?.count).toBe(120);

  exportRun(r.runStore, join(r.folder, 'out'));
  const record = readRecording(join(r.folder, 'out'));
  expect([record.samples.length, record.late.length]).toEqual([350, 120]);
  const again = analyseRecording(record.context, record.samples, record.events);
  expect(again.visits).toMatchObject(
    r.run.course.analysis.visits.map((v) => ({
      emitter: v.emitter,
      withheld: v.withheld,
      clears: v.clears.map((c) => ({ from_s: c.fromS, to_s: c.toS })),
      reason: { code: v.verdict.reason.code },
    })),
  );
});

test('a press that comes late counts in its own visit, once, and not in a later one', async () => {
  const r = rig();
  r.live(5);
  await r.post('stage:emitters');
  await r.post('emitter-open', 'a');
  r.live(20);
  r.live(6, true, 2);
  r.comeBack();
  expect(r.run.course.analysis.visit?.passesS).toHaveLength(1);
  const press = r.runStore.events().find((e) => e.event.event === 'agitate-end')?.event;
  expect(press?.data?.['pressedS']).toBeCloseTo(27.1, 1);
  expect(press?.timeS).toBeCloseTo(31, 1);
  r.live(6, true, 2);
  await r.post('emitter-open', 'b');
  r.comeBack();
  expect(r.run.course.analysis.visit).toMatchObject({ emitter: 'b', passesS: [] });
  expect(r.runStore.events().at(-1)).toMatchObject({ who: 'kit', event: { event: 'pass-late', emitter: '' } });
});

test('late readings outlive a restart of the bridge', () => {
  const r = rig();
  r.live(5);
  r.live(5, true);
  r.comeBack();
  r.live(2);
  const shown = times(r.run);
  r.run.stop();
  r.store.close();
  const store = openStore(r.folder);
  const runStore = store.openRun('r1');
  if (!runStore) throw new Error('the run is gone');
  const run = new Run({
    store: runStore,
    clock: new SteppedClock(),
    createAnalysis,
    source: 'a test',
    fault: () => undefined,
  });
  expect(times(run)).toEqual(shown);
  expect(shown).toHaveLength(120);
  run.stop();
  store.close();
});
