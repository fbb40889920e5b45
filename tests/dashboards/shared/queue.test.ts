import { describe, expect, it } from 'vitest';
import { createQueue, type QueueWorld, type Sent, type Tap } from '../../../dashboards/shared/queue.ts';

const turn = () => new Promise((done) => setImmediate(done));

class FakeQueueWorld implements QueueWorld {
  answer: (tap: Tap) => Sent = () => 'done';
  sent: { id: string; event: string; agoS: number }[] = [];
  ms = 1_000_000;
  stored: string | null = null;
  later: (() => void)[] = [];
  #ids = 0;

  send(tap: Tap, agoS: number): Promise<Sent> {
    this.sent.push({ id: tap.id, event: tap.event, agoS });
    return Promise.resolve(this.answer(tap));
  }
  load(): string | null {
    return this.stored;
  }
  save(text: string): void {
    this.stored = text;
  }
  nowMs(): number {
    return this.ms;
  }
  after(_ms: number, fn: () => void): void {
    this.later.push(fn);
  }
  newId(): string {
    this.#ids += 1;
    return `tap-${String(this.#ids).padStart(6, '0')}`;
  }
  runLater(): void {
    for (const fn of this.later.splice(0)) fn();
  }
}

const what = (event: string, runId = 'run-1') => ({ runId, event, emitter: 'e1', note: '', label: event });

function setUp(world = new FakeQueueWorld()) {
  const told: string[] = [];
  const queue = createQueue(
    world,
    () => {},
    (text) => told.push(text),
  );
  return { world, queue, told };
}

describe('taps', () => {
  it('go out once each, in the order of the tapping', async () => {
    const { world, queue } = setUp();
    queue.tap(what('a'));
    queue.tap(what('b'));
    await turn();
    expect(world.sent.map((s) => s.event)).toEqual(['a', 'b']);
    expect(new Set(world.sent.map((s) => s.id)).size).toBe(2);
    expect(queue.waiting).toEqual([]);
  });

  it('wait while the bridge is away, keep the time of the tap, and keep their order and id', async () => {
    const { world, queue } = setUp();
    world.answer = () => 'later';
    queue.tap(what('a'));
    world.ms += 10_000;
    queue.tap(what('b'));
    await turn();
    expect(queue.waiting.map((t) => t.event)).toEqual(['a', 'b']);
    world.answer = () => 'done';
    world.ms += 5000;
    const first = world.sent[0]?.id;
    world.sent = [];
    queue.flush('run-1');
    await turn();
    expect(world.sent.map((s) => [s.event, s.agoS])).toEqual([
      ['a', 15],
      ['b', 5],
    ]);
    expect(world.sent[0]?.id).toBe(first);
  });

  it('outlive a reload of the page', async () => {
    const world = new FakeQueueWorld();
    world.answer = () => 'later';
    setUp(world).queue.tap(what('a'));
    await turn();
    const id = world.sent[0]?.id;
    world.answer = () => 'done';
    world.sent = [];
    const reloaded = setUp(world).queue;
    reloaded.flush('run-1');
    await turn();
    expect(world.sent.map((s) => s.id)).toEqual([id]);
  });

  it('tell a refusal and go on with the next', async () => {
    const { world, queue, told } = setUp();
    world.answer = (tap) => (tap.event === 'a' ? { refused: 'Not now.' } : 'done');
    queue.tap(what('a'));
    queue.tap(what('b'));
    await turn();
    expect(told).toEqual(['Not now.']);
    expect(queue.waiting).toEqual([]);
  });

  it('wait for pairing, and go then', async () => {
    const { world, queue } = setUp();
    world.answer = () => 'unpaired';
    queue.tap(what('a'));
    await turn();
    expect(queue.waiting).toHaveLength(1);
    expect(world.later).toEqual([]);
    world.answer = () => 'done';
    queue.flush('run-1');
    await turn();
    expect(queue.waiting).toEqual([]);
  });

  it('of another run, or older than a day, are given up and said', async () => {
    const { world, queue, told } = setUp();
    world.answer = () => 'later';
    queue.tap(what('a', 'run-0'));
    queue.tap(what('b', 'run-1'));
    await turn();
    world.ms += 90_000_000;
    queue.flush('run-1');
    await turn();
    expect(told).toHaveLength(2);
    expect(queue.waiting).toEqual([]);
  });

  it('start empty from a store that cannot be read', () => {
    const world = new FakeQueueWorld();
    world.stored = '[{"id":1}]';
    expect(setUp(world).queue.waiting).toEqual([]);
  });
});
