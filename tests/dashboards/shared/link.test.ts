import { describe, expect, it } from 'vitest';
import { createLink } from '../../../dashboards/shared/link.ts';
import { TraceBuffer } from '../../../dashboards/shared/trace-buffer.ts';
import { FakeWorld } from './fake-world.ts';

function page(world: FakeWorld) {
  const buffer = new TraceBuffer(20_000);
  const states: string[] = [];
  let snapshots = 0;
  /** What came in which order of a snapshot. */
  const order: string[] = [];
  let views = 0;
  const link = createLink(world, {
    soon: () => order.push('view'),
    snapshot(_view, rows) {
      order.push('rows');
      snapshots += 1;
      buffer.replace(rows);
    },
    rows: (rows) => buffer.append(rows),
    view: () => {
      views += 1;
    },
    beat: () => {},
    state: (state) => states.push(state),
  });
  const times = () => Array.from({ length: buffer.length }, (_, i) => buffer.at('timeS', i));
  const held = () => world.bridge.trace(0, 1e9).rows.map((row) => row[0]);
  return { link, order, states, times, held, counts: () => ({ snapshots, views }) };
}

describe('link to the bridge', () => {
  it('fetches all at the first visit, then follows, with no row lost or doubled', async () => {
    const world = new FakeWorld();
    world.bridge.play(20);
    const { states, times, held, counts, link, order } = page(world);
    await world.pass(5);
    expect(states).toEqual(['joining', 'live']);
    // The verdict does not wait for the rows of a quarter of an hour.
    expect(order).toEqual(['view', 'rows']);
    expect(times()).toEqual(held());
    expect(counts().snapshots).toBe(1);
    link.close();
  });

  it('joins a run of any age, whose clock stands at no round figure', async () => {
    const world = new FakeWorld();
    world.bridge.play(1200);
    const view = world.bridge.view();
    world.bridge.view = () => ({ ...view, timeS: 1011.9407577100001 });
    const { states, times, link } = page(world);
    await world.pass(5);
    expect(states).toEqual(['joining', 'live']);
    expect(times()[0]).toBeLessThanOrEqual(112);
    link.close();
  });

  it('says at once that the link is lost, and fills the gap on return from the place where it broke off', async () => {
    const world = new FakeWorld();
    const { states, times, held, counts, link } = page(world);
    await world.pass(5);
    world.breakStreams();
    expect(states.at(-1)).toBe('lost');
    await world.pass(30);
    world.cut = false;
    await world.pass(6);
    expect(states.at(-1)).toBe('live');
    expect(counts().snapshots).toBe(1);
    expect(world.opened.at(-1)?.url).toMatch(/\?after=[0-9a-f]+\.\d+$/);
    expect(times()).toEqual(held());
    link.close();
  });

  it('tries for ever, after 0.5, 1, 2, 4 and then every 5 s', async () => {
    const world = new FakeWorld();
    world.cut = true;
    const { link } = page(world);
    await world.pass(40);
    const starts = world.opened.map((o) => o.atMs / 1000);
    const waits = starts.slice(1).map((s, i) => s - (starts[i] ?? 0));
    [0.5, 1, 2, 4, 5, 5, 5].forEach((wanted, i) => {
      expect(waits[i]).toBeGreaterThanOrEqual(wanted);
      expect(waits[i]).toBeLessThanOrEqual(wanted + 0.3);
    });
    link.close();
  });

  it('cuts a stream that is open but silent for 3 s', async () => {
    const world = new FakeWorld();
    const { states, link } = page(world);
    await world.pass(3);
    world.silent = true;
    await world.pass(2.5);
    expect(states.at(-1)).toBe('live');
    await world.pass(1.2);
    expect(states.at(-1)).toBe('lost');
    world.silent = false;
    await world.pass(2);
    expect(states.at(-1)).toBe('live');
    link.close();
  });

  it('fetches all anew after a restart of the bridge, nothing doubled', async () => {
    const world = new FakeWorld();
    const { states, times, held, counts, link } = page(world);
    await world.pass(5);
    world.restart();
    await world.pass(4);
    expect(states.at(-1)).toBe('live');
    expect(counts().snapshots).toBe(2);
    expect(times()).toEqual(held());
    link.close();
  });

  it('reads the trace anew when late readings fill the past, while it goes on live', async () => {
    const world = new FakeWorld();
    const { states, times, counts, link } = page(world);
    await world.pass(5);
    const trace = world.bridge.trace.bind(world.bridge);
    const kept = trace(0, 1e9).rows[10];
    if (!kept) throw new Error('the bridge holds too little');
    const lateS = kept[0] + 0.05;
    const late: typeof kept = [...kept];
    late[0] = lateS;
    world.bridge.trace = (fromS, toS, points) => {
      const answer = trace(fromS, toS, points);
      const rows = [...answer.rows, late].sort((x, y) => x[0] - y[0]);
      return { ...answer, rows };
    };
    world.bridge.emit({ type: 'refetch', from: '', why: 'late-readings' });
    await world.pass(3);
    expect(times()).toContain(lateS);
    expect(times()).toEqual(world.bridge.trace(0, 1e9).rows.map((row) => row[0]));
    expect(counts().snapshots).toBe(2);
    expect(states).toEqual(['joining', 'live']);
    link.close();
  });

  it('tries at once when the page comes back to the front', async () => {
    const world = new FakeWorld();
    const { states, link } = page(world);
    await world.pass(2);
    world.breakStreams();
    await world.pass(20);
    world.cut = false;
    link.wake();
    await world.pass(0.5);
    expect(states.at(-1)).toBe('live');
    link.close();
  });

  it('says that it does not understand, rather than showing half', async () => {
    const world = new FakeWorld();
    const { states, link } = page(world);
    await world.pass(2);
    world.bridge.force({
      buttons: [
        { id: 'x', label: 'x', event: 'x', emitter: '', note: '', hold: false, primary: true, why: false },
      ].flatMap((b) => [b, b, b, b]),
    });
    expect(states.at(-1)).toBe('misread');
    link.close();
  });
});
