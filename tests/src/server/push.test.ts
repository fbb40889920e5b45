import { Writable } from 'node:stream';
import { describe, expect, it } from 'vitest';
import type { LiveMessage } from '../../../src/server/protocol.ts';
import { createPush, type PushLimits } from '../../../src/server/push.ts';
import { createFakeBridge } from './fake-bridge.ts';

/** A page's connection that takes what it is given, or nothing, as told. */
class FakePage extends Writable {
  got = '';
  stuck = false;
  #held: (() => void) | null = null;

  constructor() {
    super({ highWaterMark: 1000 });
  }

  override _write(chunk: Buffer, _encoding: BufferEncoding, done: () => void): void {
    this.got += chunk.toString();
    if (this.stuck) this.#held = done;
    else done();
  }

  release(): void {
    this.stuck = false;
    const done = this.#held;
    this.#held = null;
    done?.();
  }

  get events(): string[] {
    return [...this.got.matchAll(/^event: (.+)$/gm)].map((m) => m[1] ?? '');
  }

  get times(): number[] {
    return [...this.got.matchAll(/"rows":\[\[([\d.]+)/g)].map((m) => Number(m[1]));
  }

  get lastId(): string {
    return [...this.got.matchAll(/^id: (.+)$/gm)].at(-1)?.[1] ?? '';
  }
}

const turn = () => new Promise((done) => setImmediate(done));

function setUp(limits: Partial<PushLimits> = {}) {
  const bridge = createFakeBridge();
  return { bridge, push: createPush(bridge, limits) };
}

describe('live stream', () => {
  it('tells a first visit to refetch, then sends what comes', async () => {
    const { bridge, push } = setUp();
    bridge.play(1);
    const page = new FakePage();
    push.attach(page, undefined);
    bridge.play(0.2);
    await turn();
    expect(page.events).toEqual(['refetch', 'trace', 'trace', 'view']);
    expect(page.got).toContain('"why":"first-visit"');
  });

  it('goes on where a page broke off, with no row lost and none doubled', async () => {
    const { bridge, push } = setUp();
    const page = new FakePage();
    push.attach(page, undefined);
    bridge.play(1);
    await turn();
    const id = page.lastId;
    page.destroy();
    bridge.play(2);
    const again = new FakePage();
    push.attach(again, id);
    bridge.play(0.1);
    await turn();
    expect(again.events).not.toContain('refetch');
    expect([...page.times, ...again.times]).toEqual(bridge.trace(0, 1e9).rows.map((row) => row[0]));
  });

  it('sends only the newest of the views that a page missed', async () => {
    const { bridge, push } = setUp();
    const id = push.at();
    for (let i = 0; i < 5; i += 1) bridge.play(0.1);
    const page = new FakePage();
    push.attach(page, id);
    await turn();
    expect(page.events.filter((name) => name === 'view')).toHaveLength(1);
  });

  it.each(['', 'nonsense', '000000000000.1', 'x.1.2'])(
    'asks for a refetch after the unknown place "%s"',
    async (after) => {
      const { push } = setUp();
      const page = new FakePage();
      push.attach(page, after);
      await turn();
      expect(page.got).toContain('"why":"place-not-held"');
    },
  );

  it('asks for a refetch when the place has fallen out of the ring, by count and by bytes', async () => {
    for (const limits of [{ heldMessages: 10 }, { heldBytes: 1500 }]) {
      const { bridge, push } = setUp(limits);
      const id = push.at();
      bridge.play(3);
      const page = new FakePage();
      push.attach(page, id);
      await turn();
      expect(page.events[0]).toBe('refetch');
    }
  });

  it('refuses a place that lies in the future of this epoch', async () => {
    const { push } = setUp();
    const [epoch] = push.at().split('.');
    const page = new FakePage();
    push.attach(page, `${epoch}.999`);
    await turn();
    expect(page.events).toEqual(['refetch']);
  });

  it('holds nothing for a slow page beyond its own buffer, and catches it up in order', async () => {
    const { bridge, push } = setUp();
    const page = new FakePage();
    push.attach(page, undefined);
    await turn();
    page.stuck = true;
    bridge.play(100);
    expect(page.writableLength).toBeLessThan(20_000);
    page.release();
    await turn();
    expect(page.times).toEqual(bridge.trace(0, 1e9).rows.map((row) => row[0]));
  });

  it('cuts a page that falls off the end of the ring', async () => {
    const { bridge, push } = setUp({ heldMessages: 20 });
    const page = new FakePage();
    push.attach(page, undefined);
    await turn();
    page.stuck = true;
    bridge.play(10);
    page.release();
    await turn();
    expect(page.destroyed).toBe(true);
    expect(push.pages).toBe(0);
  });

  it('cuts a page that takes nothing for longer than its patience', async () => {
    const { bridge, push } = setUp({ patienceBeats: 3 });
    const page = new FakePage();
    push.attach(page, undefined);
    await turn();
    page.stuck = true;
    bridge.play(5);
    for (let i = 0; i < 4; i += 1) bridge.beat();
    expect(page.destroyed).toBe(true);
  });

  it('gives beats no place in the stream', async () => {
    const { bridge, push } = setUp();
    const before = push.at();
    bridge.beat();
    expect(push.at()).toBe(before);
  });

  it('takes so many pages and no more, and stops listening when closed', async () => {
    const { bridge, push } = setUp({ pages: 1 });
    expect(push.attach(new FakePage(), undefined)).toBe(true);
    expect(push.attach(new FakePage(), undefined)).toBe(false);
    push.close();
    const at = push.at();
    const message: LiveMessage = { type: 'trace', rows: [] };
    bridge.emit(message);
    expect(push.at()).toBe(at);
  });
});
