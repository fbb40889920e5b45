import { mkdtempSync, rmSync } from 'node:fs';
import { tmpdir } from 'node:os';
import { join } from 'node:path';
import { afterEach, describe, expect, it } from 'vitest';
import { analyseRecording, resultOf } from '../../../src/core/analyse-recording.ts';
import { defaultLineSettings } from '../../../src/core/line/settings.ts';
import { gather } from '../../../src/core/audit/gather.ts';
import { exportRun, importRecording, readRecording } from '../../../src/recording/recording.ts';
import { recordOf } from '../../../src/run/audit-input.ts';
import { openStore } from '../../../src/store/open.ts';
import { type Rehearsal, rehearse } from './rehearse.ts';

const folders: string[] = [];
const folder = (): string => {
  const made = mkdtempSync(join(tmpdir(), 'limpid-live-'));
  folders.push(made);
  return made;
};
afterEach(() => {
  for (const made of folders.splice(0)) rmSync(made, { recursive: true, force: true });
});

/** Three emitters, passes, an undone pass and an undone opening, troubles of kit and site, then a rinse. */
export async function workThrough(r: Rehearsal): Promise<void> {
  r.clock.run(15);
  await r.post('stage:baseline');
  r.clock.run(40);
  await r.post('stage:emitters');
  const ids = r.run.view().emitters.map((e) => e.id);
  for (const id of ids.slice(0, 3)) {
    await r.post('emitter-open', id);
    r.clock.run(30);
    for (let pass = 0; pass < 3; pass++) {
      await r.post('agitate-end', '', { agoS: pass });
      r.clock.run(58.7);
    }
  }
  await r.post('agitate-end');
  r.clock.run(3);
  await r.post('undo');
  r.clock.run(20);
  for (const trouble of ['pump-off', 'calm', 'gone', 'calm', 'bubbles', 'kink', 'calm']) {
    r.fault(trouble);
    r.clock.run(12);
  }
  await r.post('emitter-open', ids[3] ?? '');
  r.clock.run(4);
  await r.post('undo');
  r.clock.run(30);
  await r.post('emitter-shut');
  await r.post('caution-read', '', { note: 'isolation' });
  await r.post('caution-read', '', { note: 'foul-drain' });
  await r.post('stage:rinse', '', { note: 'a rehearsal' });
  r.clock.run(60);
  // The end of the record is an event, so that both know how far time went.
  await r.post('stage:end', '', { note: 'a rehearsal' });
}

describe('a run, live and afterwards', () => {
  it('gives in analyse, from the export, the verdicts that were given live, to the sample', async () => {
    const r = await rehearse(3, folder());
    await workThrough(r);
    expect(r.faults).toEqual([]);
    const live = r.run.course.analysis;
    const store = r.store.openRun('r1');
    if (!store) throw new Error('no run');
    const out = join(folder(), 'export');
    exportRun(store, out);
    const { context, samples, events } = readRecording(out);
    const after = analyseRecording(context, samples, events);

    expect(after.visits.length).toBeGreaterThanOrEqual(4);
    expect(after.visits.flatMap((v) => v.clears).length).toBeGreaterThan(3);
    expect(after.visits.flatMap((v) => v.pulses).length).toBeGreaterThan(3);
    expect(after.visits.map((v) => v.clears)).toEqual(
      live.visits.map((v) => v.clears.map((c) => ({ from_s: c.fromS, to_s: c.toS }))),
    );
    expect(after.visits.map((v) => v.pulses)).toEqual(
      live.visits.map((v) =>
        v.pulses.map((p) => ({
          onset_s: p.onsetS,
          said_s: p.saidS,
          peak_s: p.peakS,
          peak_ntu: p.peakNtu,
          end_s: p.endS,
        })),
      ),
    );
    expect(after.visits.map((v) => [v.emitter, v.visit, v.withheld, v.done, v.reason.code])).toEqual(
      live.visits.map((v) => [v.emitter, v.visit, v.withheld, v.verdict.done, v.verdict.reason.code]),
    );
    expect(after.rinse?.clear_at_s).toBe(live.rinse?.clearAtS);
    // The audit's own drive, with alarms and stages beside, tells the very same.
    const { driven } = gather(recordOf(readRecording(out)));
    expect(resultOf(driven, defaultLineSettings)).toEqual(after);
    expect(samples.length).toBe([...store.samples()].length);
    r.close();

    const elsewhere = openStore(folder());
    importRecording(elsewhere, out);
    const again = elsewhere.openRun('r1');
    expect(again && [...again.samples()]).toEqual(samples);
    elsewhere.close();
  });

  it('loses no pack on the way: as many samples as the kit made, times rising by whole milliseconds', async () => {
    const r = await rehearse(4, folder());
    r.clock.run(120);
    const samples = [...(r.store.openRun('r1')?.samples() ?? [])];
    expect(samples.length).toBe(r.run.hearing.packs);
    expect(samples.length).toBeGreaterThan(1190);
    expect(r.run.view().counters).toEqual([]);
    const times = samples.map((s) => s.timeS);
    expect(times.every((t, i) => i === 0 || t > (times[i - 1] ?? 0))).toBe(true);
    expect(times.every((t) => Math.abs(t * 1000 - Math.round(t * 1000)) < 1e-6)).toBe(true);
    r.close();
  });
});

describe('a run after a restart of the bridge', () => {
  it('is where it was: job, verdicts, visits and trace', async () => {
    const data = folder();
    const r = await rehearse(5, data);
    await workThrough(r);
    const before = r.run.view();
    const trace = r.run.trace(0, 1e9);
    r.close();
    const again = await rehearse(5, data);
    const after = again.run.view();
    const { timeS: _t, links: _l, counters: _c, undo: _u, said: _s, ...was } = before;
    const { timeS, links: __l, counters: __c, undo: __u, said: __s, ...is } = after;
    expect(is).toEqual(was);
    expect(timeS).toBeCloseTo(before.timeS, 0);
    expect(again.run.trace(0, 1e9)).toEqual(trace);
    again.close();
  });

  it('goes on: later times, the same ids known, new samples after the old ones', async () => {
    const data = folder();
    const r = await rehearse(6, data);
    r.clock.run(10);
    await r.post('stage:emitters', '', { id: 'tap-stage-1' });
    r.clock.run(5);
    const lastS = r.store.openRun('r1')?.lastTimeS() ?? 0;
    r.close();
    const again = await rehearse(6, data);
    expect(await again.post('stage:emitters', '', { id: 'tap-stage-1' })).toMatchObject({ doubled: true });
    again.clock.run(5);
    const times = [...(again.store.openRun('r1')?.samples() ?? [])].map((s) => s.timeS);
    expect(times.filter((t) => t > lastS).length).toBeGreaterThan(45);
    expect(times).toEqual([...times].sort((a, b) => a - b));
    again.close();
  });
});
