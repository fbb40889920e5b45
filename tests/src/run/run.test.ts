import { mkdtempSync, rmSync } from 'node:fs';
import { tmpdir } from 'node:os';
import { join } from 'node:path';
import { afterEach, describe, expect, it } from 'vitest';
import { createAnalysis } from '../../../src/core/analyse.ts';
import { encodeLine } from '../../../firmware-bridge/wire/encode.ts';
import { Problem } from '../../../src/core/message/problem.ts';
import { Run } from '../../../src/run/run.ts';
import { type LiveMessage, liveMessageSchema, runViewSchema, type TraceRow } from '../../../src/server/protocol.ts';
import { openStore } from '../../../src/store/open.ts';
import type { RunStore } from '../../../src/store/store.ts';
import { head } from '../core/job/job-cases.ts';
import { rehearse, type Rehearsal } from './rehearse.ts';
import { SteppedClock } from './stepped-clock.ts';

const open: Rehearsal[] = [];
const rehearsal = async (seed: number): Promise<Rehearsal> => {
  const r = await rehearse(seed);
  open.push(r);
  return r;
};
afterEach(() => {
  for (const r of open.splice(0)) {
    r.close();
    r.remove();
  }
});

describe('what a page gets', () => {
  it('is valid by the protocol, whatever happens', async () => {
    const r = await rehearsal(1);
    const seen = new Set<string>();
    r.run.listen((message) => {
      expect(liveMessageSchema.safeParse(JSON.parse(JSON.stringify(message))).error).toBeUndefined();
      seen.add(message.type);
    });
    r.clock.run(5);
    await r.post('stage:emitters');
    await r.post('emitter-open', 'hall');
    for (const trouble of ['bubbles', 'gone', 'calm', 'pump-off']) {
      await r.post('agitate-end');
      r.fault(trouble);
      r.clock.run(20);
    }
    expect(runViewSchema.safeParse(r.run.view()).error).toBeUndefined();
    expect(seen).toEqual(new Set(['view', 'trace', 'beat']));
  });

  it('is each row once: what the stream brings after a trace goes on where that ended', async () => {
    const r = await rehearsal(2);
    const stream: TraceRow[] = [];
    r.run.listen((m: LiveMessage) => {
      if (m.type === 'trace') stream.push(...m.rows);
    });
    r.clock.run(10.03);
    const { rows } = r.run.trace(0, 1e9);
    const before = stream.length;
    r.clock.run(10);
    const all = r.run.trace(0, 1e9).rows;
    expect([...rows, ...stream.slice(before)]).toEqual(all);
  });

  it('tells a new verdict and a tap at once, not at the next look', async () => {
    const r = await rehearsal(3);
    r.clock.run(5);
    const words: string[] = [];
    r.run.listen((m) => {
      if (m.type === 'view') words.push(m.view.stage);
    });
    await r.post('stage:emitters');
    expect(words).toEqual(['emitters']);
  });
});

/** A run on a store whose disk can be made to fail. */
function fragile(speed = 1) {
  const folder = mkdtempSync(join(tmpdir(), 'limpid-fragile-'));
  const store = openStore(folder);
  const inner = store.createRun(head);
  let broken = false;
  const fail = (): void => {
    if (broken) throw new Problem('store-disk-full', { file: 'limpid.sqlite' });
  };
  const runStore: RunStore = {
    head: inner.head,
    appendEvent: (event) => {
      fail();
      return inner.appendEvent(event);
    },
    appendSample: (sample) => inner.appendSample(sample),
    appendLate: (sample) => inner.appendLate(sample),
    late: (from, to) => inner.late(from, to),
    flush: () => {
      fail();
      inner.flush();
    },
    keepSamples: () => inner.keepSamples(),
    events: () => inner.events(),
    linkCount: () => inner.linkCount(),
    links: (from, limit) => inner.links(from, limit),
    chunkBody: (chunk) => inner.chunkBody(chunk),
    chunks: () => inner.chunks(),
    unchained: () => inner.unchained(),
    unkept: () => inner.unkept(),
    samples: (from, to) => inner.samples(from, to),
    lastTimeS: () => inner.lastTimeS(),
  };
  const clock = new SteppedClock(speed);
  const faults: unknown[] = [];
  const troubles: (string | null)[] = [];
  let badAnalysis = false;
  const run = new Run({
    store: runStore,
    clock,
    createAnalysis: (ctx, settings) => {
      const real = createAnalysis(ctx, settings);
      return new Proxy(real, {
        get(target, key) {
          if (key === 'sample' && badAnalysis) throw new Error('a fault of the analysis');
          const value: unknown = Reflect.get(target, key, target);
          return typeof value === 'function' ? value.bind(target) : value;
        },
      });
    },
    source: 'a test',
    fault: (error) => faults.push(error),
    trouble: (problem) => troubles.push(problem?.code ?? null),
  });
  let seq = 0;
  const feed = (seconds: number): void => {
    for (let i = 0; i < seconds * 10; i++) {
      clock.run(0.1);
      const values = { turbidityNtu: 20 + (i % 3), flowLpm: 15 };
      const upS = clock.nowS();
      run.bytes(encodeLine({ kit: 'urn:dev:mac:1', boot: 1, seq: seq++, upS, values }), upS);
    }
  };
  const post = (id: string, event: string, emitter = '', agoS = 0) =>
    run.post({ id, event, emitter, note: '', agoS }, 'loopback');
  return {
    run,
    clock,
    feed,
    post,
    faults,
    troubles,
    runStore,
    breakStore: (now: boolean) => {
      broken = now;
    },
    breakAnalysis: () => {
      badAnalysis = true;
    },
    close: () => {
      run.stop();
      store.close();
      rmSync(folder, { recursive: true, force: true });
    },
  };
}

describe('the trace of a run', () => {
  it('shows a pause as a gap, and a single missing pack as none', () => {
    const f = fragile();
    f.feed(1);
    f.clock.run(10);
    f.feed(1);
    const rows = f.run.trace(0, 1e9).rows;
    expect(rows).toHaveLength(21);
    expect(rows.filter((r) => r[1] === null).map((r) => r[0])).toEqual([1.001]);
    f.close();
  });
});

describe('trouble inside the bridge', () => {
  it('a full disk: said, nothing acknowledged, and all of it kept once there is room', async () => {
    const f = fragile();
    f.run.transportState({ kind: 'open' });
    f.feed(2);
    f.breakStore(true);
    f.feed(2);
    const link = f.run.view().links.find((l) => l.id === 'bridge');
    expect(link).toMatchObject({ state: 'trouble' });
    expect(link?.text).toMatch(/disk/);
    expect(await f.post('tap-00001', 'stage:emitters')).toMatchObject({ status: 503, code: 'store-disk-full' });
    expect(f.run.view().stage).toBe('');
    f.breakStore(false);
    f.feed(2);
    expect(f.run.view().links.find((l) => l.id === 'bridge')).toMatchObject({ state: 'ok' });
    expect(await f.post('tap-00001', 'stage:emitters')).toMatchObject({ doubled: false });
    expect([...f.runStore.samples()].length).toBe(60);
    expect(f.faults).toEqual([]);
    // Said once, and once more when it is over: whoever has no page open has the console.
    expect(f.troubles).toEqual(['store-disk-full', null]);
    f.close();
  });

  it('a fault of the analysis: no verdict stands, the record goes on', async () => {
    const f = fragile();
    f.feed(2);
    await f.post('tap-00001', 'stage:emitters');
    await f.post('tap-00002', 'emitter-open', 'a');
    f.feed(2);
    f.breakAnalysis();
    f.feed(2);
    const view = f.run.view();
    expect(view.band).toMatchObject({ kind: 'cannot-tell' });
    expect(view.band.reason).toMatch(/fault of its own/);
    expect(f.faults).toHaveLength(1);
    expect([...f.runStore.samples()].length).toBe(60);
    f.close();
  });
});

describe('taps', () => {
  it('count once, however often they are sent, also when the second could not be done any more', async () => {
    const f = fragile();
    f.feed(1);
    await f.post('tap-00001', 'stage:emitters');
    const first = await f.post('tap-00002', 'emitter-open', 'a');
    const again = await f.post('tap-00002', 'emitter-open', 'a');
    expect(first).toMatchObject({ doubled: false });
    expect(again).toEqual({ ...first, doubled: true });
    expect(f.runStore.events()).toHaveLength(2);
    f.close();
  });

  it('that waited stand in the order of their commitment, with their own time beside them', async () => {
    const f = fragile();
    f.feed(10);
    await f.post('tap-00001', 'stage:emitters');
    await f.post('tap-00002', 'emitter-open', 'a', 4);
    const [, stored] = f.runStore.events();
    expect(stored?.event.timeS).toBeGreaterThanOrEqual(10);
    expect(stored?.event.data).toEqual({ tappedS: 6 });
    f.close();
  });

  it('at forty times the speed do not step over readings that are on their way', async () => {
    const f = fragile(40);
    f.feed(20);
    await f.post('tap-00001', 'stage:emitters');
    await f.post('tap-00002', 'emitter-open', 'a');
    f.feed(20);
    // A busy machine: readings of 12 s of the run, 0.3 s of life, are still to be read when the tap comes in.
    f.clock.stall(12);
    await f.post('tap-00003', 'agitate-end', 'a');
    f.feed(1);
    const [tap] = f.runStore.events().slice(-1);
    expect(tap?.event.timeS).toBeLessThan(43);
    expect(f.run.view().band.kind).toBe('watching');
    f.close();
  });

  it('are refused with status 409 and a reason when they make no sense now', async () => {
    const f = fragile();
    f.feed(1);
    const answer = await f.post('tap-00001', 'agitate-end');
    expect(answer).toMatchObject({ status: 409, code: 'job.none-open' });
    expect(f.runStore.events()).toHaveLength(0);
    f.close();
  });

  it('of the button on the kit become passes, and are counted when no emitter is open', async () => {
    const f = fragile();
    const press = (seq: number): void => {
      f.clock.run(0.1);
      f.run.bytes(encodeLine({ kit: 'urn:dev:mac:1', boot: 1, seq, upS: seq / 10, pass: true }), f.clock.nowS());
    };
    press(0);
    expect(f.run.view().counters).toMatchObject([{ code: 'kitPassRefused', count: 1 }]);
    await f.post('tap-00001', 'stage:emitters');
    await f.post('tap-00002', 'emitter-open', 'a');
    press(1);
    expect(f.runStore.events().at(-1)).toMatchObject({ who: 'kit', event: { event: 'agitate-end', emitter: 'a' } });
    expect(f.run.view().emitters[0]?.passes).toBe(1);
    f.close();
  });
});

describe('the links', () => {
  it('grow old and say so when nothing comes', () => {
    const f = fragile();
    f.run.transportState({ kind: 'opening' });
    f.run.transportState({ kind: 'open' });
    const state = (id: string) => f.run.view().links.find((l) => l.id === id);
    expect(state('kit')).toMatchObject({ state: 'trouble', ageS: null });
    f.feed(1);
    expect([state('kit')?.state, state('sensor')?.state]).toEqual(['ok', 'ok']);
    f.clock.run(10);
    expect(state('kit')).toMatchObject({ state: 'trouble' });
    expect(state('kit')?.ageS).toBeCloseTo(10, 5);
    expect(state('sensor')).toMatchObject({ state: 'off' });
    f.close();
  });

  it('say in the words of the transport what is wrong', () => {
    const f = fragile();
    f.run.transportState({
      kind: 'waiting',
      retryInS: 1,
      problem: { code: 'transport-unplugged', params: { port: '/dev/x' } },
    });
    expect(f.run.view().links.find((l) => l.id === 'kit')?.text).toContain('/dev/x');
    f.close();
  });

  it('tell a sensor that fell silent from a kit that did', () => {
    const f = fragile();
    f.run.transportState({ kind: 'open' });
    f.feed(1);
    for (let i = 0; i < 50; i++) {
      f.clock.run(0.1);
      const values = { flowLpm: 15 };
      f.run.bytes(encodeLine({ kit: 'urn:dev:mac:1', boot: 1, seq: 10 + i, upS: 1 + i / 10, values }), f.clock.nowS());
    }
    const links = f.run.view().links;
    expect(links.map((l) => [l.id, l.state])).toEqual([
      ['sensor', 'trouble'],
      ['kit', 'ok'],
      ['bridge', 'ok'],
    ]);
    f.close();
  });
});

describe('what the kit tells of itself', () => {
  it('enters the record once, and again only when it is news', () => {
    const f = fragile();
    const hello = (seq: number, firmware: string): void => {
      f.clock.run(0.1);
      const channels = { turbidity: { lo: 0, hi: 1000, step: 0.25 } };
      const pack = { kit: 'urn:dev:mac:1', boot: 1, seq, upS: seq / 10, hello: { firmware, rateHz: 10, channels } };
      f.run.bytes(encodeLine(pack), f.clock.nowS());
    };
    hello(0, '1.0.0');
    hello(1, '1.0.0');
    hello(2, '1.1.0');
    expect(f.runStore.events().map((e) => [e.who, e.event.event, e.event.data?.['firmware']])).toEqual([
      ['kit', 'kit-hello', '1.0.0'],
      ['kit', 'kit-hello', '1.1.0'],
    ]);
    expect(f.runStore.events()[0]?.event.data).toMatchObject({
      'step-turbidity': 0.25,
      'hi-turbidity': 1000,
      rateHz: 10,
    });
    f.close();
  });
});
