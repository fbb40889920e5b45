import { mkdtempSync, rmSync } from 'node:fs';
import { tmpdir } from 'node:os';
import { join } from 'node:path';
import fc from 'fast-check';
import { expect, test } from 'vitest';
import { createAnalysis } from '../../src/core/analyse.ts';
import { verifyRecording } from '../../src/recording/recording.ts';
import { sealedFolder } from '../../src/recording/sealed.ts';
import { liveRecord } from '../../src/run/live-record.ts';
import { Run } from '../../src/run/run.ts';
import { Arrivals } from '../../src/store/arrivals.ts';
import { openStore } from '../../src/store/open.ts';
import { head } from '../src/core/job/job-cases.ts';
import { type KitClock, type KitHappening, kitLines } from './kit-line.ts';
import { SettableClock } from './live-run.ts';
import { MemoryRecord } from './memory-record.ts';
import { misplacedS, readings } from './restart-storm.ts';

/** Ninety seconds of readings through the bridge, while this happens to the clock of the kit. */
function through(happenings: readonly KitHappening[], kitClock?: KitClock) {
  const clock = new SettableClock();
  const record = new MemoryRecord(head);
  const faults: unknown[] = [];
  const run = new Run({ store: record, clock, createAnalysis, source: 'a test', fault: (e) => faults.push(e) });
  const samples = readings(0.5, 90, 5);
  for (const { atS, bytes } of kitLines(samples, happenings, null, kitClock)) {
    clock.run(atS - clock.nowS());
    run.bytes(bytes, clock.nowS());
  }
  run.stop();
  expect(faults).toEqual([]);
  return { sent: samples.length, kept: record.samples(), late: record.late() };
}

const hour = 3600;
const year = 365.25 * 24 * hour;
/** Seconds to years, both ways. */
const leapS = fc
  .tuple(fc.constantFrom(1, -1), fc.double({ min: Math.log(0.5), max: Math.log(10 * year), noNaN: true }))
  .map(([sign, log]) => sign * Math.exp(log));
const atS = fc.double({ min: 5, max: 80, noNaN: true });

test("the kit's clock leaps by seconds to years, again and again: every reading once, in its place", () => {
  fc.assert(
    fc.property(fc.array(fc.record({ atS, byS: leapS }), { minLength: 1, maxLength: 4 }), (leaps) => {
      const { sent, kept, late } = through(leaps.map((l) => ({ kind: 'leap', ...l })));
      expect(kept.length + late.length).toBe(sent);
      expect(late).toEqual([]);
      // Half a second is what the run bridges before it calls a reading late.
      expect(Math.max(...misplacedS(kept).map(Math.abs))).toBeLessThan(0.6);
    }),
    { numRuns: 12 },
  );
});

test('the counter of the kit runs over, of milliseconds or of microseconds: nobody can tell', () => {
  for (const wrapS of [2 ** 32 / 1e3, 2 ** 32 / 1e6]) {
    const { sent, kept } = through([], { firstUpS: wrapS - 40, wrapS });
    expect(kept.length).toBe(sent);
    expect(Math.max(...misplacedS(kept).map(Math.abs))).toBeLessThan(0.05);
  }
});

/** Where somebody, a time server or an empty battery sets the clock of the bridge. */
const settings = {
  'an hour on, as in spring': (ms: number) => ms + hour * 1000,
  'an hour back, as in autumn': (ms: number) => ms - hour * 1000,
  'nine years back': (ms: number) => ms - 9 * year * 1000,
  'to 1970': () => 5000,
  'before 1970': () => -86_400_000,
  'beyond the 32 bits of 2038': () => 2 ** 31 * 1000 + 5000,
  'to 2099': () => Date.UTC(2099, 11, 31, 23, 59, 59),
};

test.each(Object.entries(settings))(
  'the clock of the bridge is set %s in the midst of a run: order, readings, chain and seal stand',
  async (_name, set) => {
    const data = mkdtempSync(join(tmpdir(), 'limpid-clock-'));
    const store = openStore(data);
    const record = store.createRun(head);
    const clock = new SettableClock();
    const faults: unknown[] = [];
    const run = new Run({ store: record, clock, createAnalysis, source: 'a test', fault: (e) => faults.push(e) });
    let taps = 0;
    const post = (event: string, emitter = '') =>
      run.post({ id: `tap-${++taps}-long`, event, emitter, note: 'a test', agoS: 0 }, 'loopback');
    const samples = readings(0.5, 60, 5);
    await post('stage:emitters');
    await post('emitter-open', 'a');
    for (const [i, { atS: dueS, bytes }] of kitLines(samples, [], null).entries()) {
      clock.run(dueS - clock.nowS());
      run.bytes(bytes, clock.nowS());
      if (i === 150) {
        await post('agitate-end');
        clock.setTo(set(clock.wallMs()));
        await post('agitate-end');
      }
    }
    await post('stage:end');
    const times = record.events().map((e) => e.event.timeS);
    const seal = liveRecord(run, record, data, clock).seal('A. Tester', 'loopback', true);
    const verified = verifyRecording(sealedFolder(data, record.head.runId));
    run.stop();
    const kept = [...record.samples()];
    store.close();
    rmSync(data, { recursive: true, force: true });

    expect(faults).toEqual([]);
    expect(kept.length).toBe(samples.length);
    expect(Math.max(...misplacedS(kept).map(Math.abs))).toBeLessThan(0.05);
    expect(times).toEqual(times.toSorted((a, b) => a - b));
    expect(seal).toMatchObject({ sealedAt: new Date(clock.wallMs()).toISOString() });
    expect(verified).toMatchObject({ sound: true, faults: [] });
  },
);

test('what a hub had claimed when its clock was set back is shared out again at once, and not in a year', () => {
  const data = mkdtempSync(join(tmpdir(), 'limpid-claims-'));
  let wallMs = Date.UTC(2027, 0, 1);
  const arrivals = new Arrivals(data, () => wallMs);
  arrivals.putChunk('rig-1', 'run-1', { chunk: 0, startedAt: '2026-01-02T03:04:05Z', body: Uint8Array.of(1) });
  expect(arrivals.unwritten(10)).toHaveLength(1);
  wallMs += 60_000;
  expect(arrivals.unwritten(10)).toEqual([]);
  wallMs -= year * 1000;
  expect(arrivals.unwritten(10)).toHaveLength(1);
  expect(arrivals.unwritten(10)).toEqual([]);
  arrivals.close();
  rmSync(data, { recursive: true, force: true });
});

test('a draft of the report is drawn anew when the clock was set back', async () => {
  const data = mkdtempSync(join(tmpdir(), 'limpid-draft-'));
  const store = openStore(data);
  const record = store.createRun(head);
  const clock = new SettableClock();
  const run = new Run({ store: record, clock, createAnalysis, source: 'a test', fault: () => undefined });
  const port = liveRecord(run, record, data, clock);
  const first = port.labelPdf();
  expect(port.labelPdf()).toBe(first);
  clock.setTo(clock.wallMs() - year * 1000);
  expect(port.labelPdf()).not.toBe(first);
  await Promise.all([first, port.labelPdf()]);
  run.stop();
  store.close();
  rmSync(data, { recursive: true, force: true });
});
