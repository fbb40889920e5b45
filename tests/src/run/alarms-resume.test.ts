import { afterEach, describe, expect, it } from 'vitest';
import { rehearse, type Rehearsal } from './rehearse.ts';

let last: Rehearsal | null = null;
afterEach(() => {
  last?.close();
  last?.remove();
  last = null;
});

const visiting = async (): Promise<Rehearsal> => {
  const r = await rehearse(7);
  last = r;
  r.clock.run(5);
  await r.post('stage:emitters');
  await r.post('emitter-open', 'hall');
  r.clock.run(30);
  return r;
};

describe('alarms of a live run', () => {
  it('are pushed to the pages with what to do, and told in the view', async () => {
    const r = await visiting();
    const heard: number[] = [];
    r.run.listen((m) => {
      if (m.type === 'view') heard.push(m.view.alarms.heard);
    });
    r.fault('pump-off');
    r.clock.run(20);
    expect(r.run.view().alarms.shown).toMatchObject([
      { kind: 'no-flow', stand: 'new', isFirstUp: true, mayShelve: true },
    ]);
    expect(r.run.view().alarms.shown[0]?.toDo).toMatch(/pump/);
    expect([heard[0], heard.at(-1)]).toEqual([0, 1]);
  });

  it('survive a power cut: what was seen stays seen, what was put aside stays aside, and nothing sounds again', async () => {
    const r = await visiting();
    r.fault('stuck');
    r.clock.run(20);
    await r.post('alarm-shelve', '', { note: 'sensor', id: 'shelve-it-now' });
    expect(r.run.view().alarms.shelved).toEqual([]);
    await r.run.post(
      { id: 'shelve-it-well', event: 'alarm-shelve', emitter: '', note: 'sensor', data: { minutes: 15 }, agoS: 0 },
      'loopback',
    );
    r.fault('pump-off');
    r.clock.run(20);
    await r.post('alarm-acknowledge', '', { note: 'no-flow' });
    r.clock.run(2);
    const before = r.run.view().alarms;
    expect(before.shelved).toHaveLength(1);
    expect(before.shown).toMatchObject([{ kind: 'no-flow', stand: 'seen' }]);
    r.close();
    last = await rehearse(7, r.folder);
    expect(last.run.view().alarms).toEqual(before);
  });

  it('are refused what cannot be: an unknown one, a shelf without an end, putting an urgent one aside', async () => {
    const r = await visiting();
    expect(await r.post('alarm-acknowledge', '', { note: 'nonsense' })).toMatchObject({ code: 'job.alarm-unknown' });
    expect(await r.post('alarm-shelve', '', { note: 'no-flow' })).toMatchObject({ code: 'shelve-minutes' });
    const urgent = { id: 'urgent-away', event: 'alarm-shelve', emitter: '', note: 'pressure-high', agoS: 0 };
    expect(await r.run.post({ ...urgent, data: { minutes: 5 } }, 'loopback')).toMatchObject({ code: 'shelve-urgent' });
  });
});

describe('a machine that stood still', () => {
  it('does not take the kit for silent before it has read what waited', async () => {
    const r = await visiting();
    r.clock.stall(8);
    const words = new Set<string>();
    r.run.listen((m) => {
      if (m.type === 'view') words.add(m.view.verdict.reason.code);
    });
    // All that fell due comes at once: the tick, and the packs of the kit.
    r.clock.run(0.05);
    r.clock.run(10);
    expect([...words]).not.toContain('silence');
    expect(r.run.course.alarms.rises.filter((x) => x.kind === 'kit-silent')).toEqual([]);
  });

  it('but a kit that sends nothing is silent', async () => {
    const r = await visiting();
    r.fault('stall');
    r.clock.run(15);
    expect(r.run.view().verdict.reason.code).toBe('silence');
    expect(r.run.view().alarms.shown).toMatchObject([{ kind: 'kit-silent' }]);
  });
});
