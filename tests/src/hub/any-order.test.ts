import { mkdtempSync, rmSync } from 'node:fs';
import { tmpdir } from 'node:os';
import { join } from 'node:path';
import fc from 'fast-check';
import { afterAll, describe, expect, it } from 'vitest';
import { Keeper } from '../../../src/hub/keeper.ts';
import { Outbox } from '../../../src/hub/outbox.ts';
import { decodePart, encodePart, type Have, type Leaf, type Part, readUpTopic } from '../../../src/hub/part.ts';
import { keepDetails, keepPhoto } from '../../../src/recording/run-files.ts';
import { sealOf } from '../../../src/recording/sealed.ts';
import { firmStore } from '../../../src/run/firm-store.ts';
import { reportOfRun } from '../../../src/run/report-input.ts';
import { makeReport } from '../../../src/report/model.ts';
import { testPicture } from '../recording/test-picture.ts';
import { inboxOf, isOfTheData, waitingParts } from '../../../src/run/hub-rooms.ts';
import { outboxSource } from '../../../src/run/outbox-link.ts';
import { Arrivals } from '../../../src/store/arrivals.ts';
import { openStore } from '../../../src/store/open.ts';
import { rig } from '../../peers/firm/rig.ts';

const made = rig('van-1');
made.record(4);
const names = keepDetails(made.folder, made.runId, { client: 'B. Client', site: '7 Example Row, Sampleton' });
const photo = keepPhoto(made.folder, made.runId, testPicture(32, 24));
for (const [event, data] of [
  ['hand-over', { ...names, engineer: 'A. Engineer' }],
  ['photo', { file: photo.file, sha256: photo.sha256 }],
] as const)
  made.run.appendEvent({
    id: event,
    event: { timeS: 250, event, emitter: '', note: '', data },
    who: 'test',
    wallAt: '2026-01-02T03:09:00.000Z',
  });
made.seal();
afterAll(() => made.dispose());

/** Everything that the rig sends, when nothing is told of what the firm has. */
function allMessages(largest?: number): { leaf: Leaf; payload: Buffer }[] {
  const outbox = new Outbox(outboxSource(made.store, made.folder), {});
  const messages: { leaf: Leaf; payload: Buffer }[] = [];
  for (let out = outbox.next(0, largest); out; out = outbox.next(0, largest)) messages.push(out);
  return messages;
}

function firm() {
  const data = mkdtempSync(join(tmpdir(), 'limpid-any-order-'));
  const arrivals = new Arrivals(data);
  const store = openStore(data);
  const haves: Have[] = [];
  const keeper = new Keeper(
    waitingParts(arrivals),
    firmStore(store, data),
    (_rig, have) => haves.push(have),
    (error) => (isOfTheData(error) ? error : null),
  );
  const inbox = inboxOf(arrivals);
  return {
    data,
    arrivals,
    store,
    haves,
    keeper,
    take(leaf: Leaf, payload: Uint8Array) {
      const part = decodePart(leaf, payload);
      if ('code' in part) throw new Error(part.code);
      return inbox.put('van-1', part);
    },
    close() {
      store.close();
      arrivals.close();
      rmSync(data, { recursive: true, force: true });
    },
  };
}

describe('what a rig sends', () => {
  const messages = allMessages();

  it('makes the same run and the same sealed record in any order, with any of it doubled', () => {
    const order = fc.tuple(
      fc.shuffledSubarray([...messages.keys()], { minLength: messages.length }),
      fc.array(fc.nat(messages.length - 1), { maxLength: 10 }),
      fc.nat(messages.length),
    );
    fc.assert(
      fc.property(order, ([all, again, workAt]) => {
        const hub = firm();
        try {
          for (const [i, n] of [...all, ...again].entries()) {
            const message = messages[n];
            if (message) hub.take(message.leaf, message.payload);
            if (i % (workAt + 1) === 0) hub.keeper.work();
          }
          hub.keeper.work();
          expect(hub.store.openRun(made.runId)?.events()).toEqual(made.run.events());
          expect([...(hub.store.openRun(made.runId)?.samples() ?? [])]).toEqual([...made.run.samples()]);
          expect(sealOf(hub.data, made.runId)?.state).toBe('good');
          expect(hub.arrivals.aside()).toEqual([]);
          expect(hub.haves.at(-1)).toEqual({ v: 1, run_id: made.runId, links: made.run.linkCount(), record: 'kept' });
        } finally {
          hub.close();
        }
      }),
      { numRuns: 12 },
    );
  });

  it('brings place, client and photos to where the firm\u2019s report looks for them, whenever it looked before', () => {
    const hub = firm();
    const sealed = (leaf: Leaf) => leaf === 'record';
    for (const { leaf, payload } of messages) if (!sealed(leaf)) hub.take(leaf, payload);
    hub.keeper.work();
    hub.store.index.sealIs(made.runId, 'unsigned', '', '2026-01-02T05:00:00.000Z');
    for (const { leaf, payload } of messages) if (sealed(leaf)) hub.take(leaf, payload);
    hub.keeper.work();
    const run = hub.store.openRun(made.runId);
    if (!run) throw new Error('no run');
    const { facts, photos } = makeReport(reportOfRun(run, { data: hub.data }, '2026-01-03T00:00:00.000Z'));
    expect(facts.site.fact).toEqual({ said: '7 Example Row, Sampleton' });
    expect(facts.client.fact).toEqual({ said: 'B. Client' });
    expect([...photos.keys()]).toEqual([photo.file]);
    expect(hub.store.index.get(made.runId)).toMatchObject({ stale: true, sealCheckedAt: null });
    hub.close();
  });

  it('makes the same sealed record where the half of it came cut otherwise before', () => {
    for (const [first, second] of [
      [4000, undefined],
      [undefined, 4000],
      [9000, 5000],
    ] as const) {
      const hub = firm();
      const half = allMessages(first).filter((_, i) => i % 2 === 0);
      for (const { leaf, payload } of [...half, ...allMessages(second)]) hub.take(leaf, payload);
      hub.keeper.work();
      expect(sealOf(hub.data, made.runId)?.state).toBe('good');
      hub.close();
    }
  });

  it('is refused where one byte of it was changed on the way, and its chain heals when it comes again', () => {
    for (const [n, message] of messages.entries()) {
      const hub = firm();
      const bad = decodePart(message.leaf, message.payload);
      if ('code' in bad) throw new Error(bad.code);
      const changed = changeOne(bad);
      hub.take(message.leaf, encodePart(changed));
      for (const [i, other] of messages.entries()) if (i !== n) hub.take(other.leaf, other.payload);
      hub.keeper.work();
      expect(hub.haves.at(-1)?.record ?? 'none').not.toBe('kept');
      expect(hub.arrivals.aside().length).toBeGreaterThan(0);
      // A chain heals; a record that does not verify stays refused, so that it is not sent for ever.
      for (const other of messages) hub.take(other.leaf, other.payload);
      hub.keeper.work();
      expect(hub.haves.at(-1)).toMatchObject({
        links: made.run.linkCount(),
        record: bad.kind === 'record' ? 'refused' : 'kept',
      });
      hub.close();
    }
  });

  it('reads back as it was written', () => {
    for (const { leaf, payload } of messages) {
      const part = decodePart(leaf, payload);
      if ('code' in part) throw new Error(part.code);
      expect(encodePart(part).equals(payload)).toBe(true);
    }
  });

  it('is sent again from where the firm is, and no more once the firm has it', () => {
    const outbox = new Outbox(outboxSource(made.store, made.folder), {});
    while (outbox.next(0));
    outbox.rewindStalled(60);
    expect(outbox.next(60)).toBeNull();
    outbox.rewindStalled(121);
    let again = 0;
    while (outbox.next(121)) again += 1;
    expect(again).toBe(messages.length);
    outbox.confirm({ v: 1, run_id: made.runId, links: made.run.linkCount(), record: 'kept' }, 122);
    outbox.rewindStalled(1000);
    expect(outbox.next(1000)).toBeNull();
    expect(new Outbox(outboxSource(made.store, made.folder), outbox.kept()).next(0)).toBeNull();
  });
});

/** The same part with one thing in it that is not as it was. */
function changeOne(part: Part): Part {
  switch (part.kind) {
    case 'events':
      return { ...part, links: part.links.map((link, i) => (i === 0 ? { ...link, who: `${link.who}x` } : link)) };
    case 'samples':
    case 'record': {
      const body = new Uint8Array(part.body);
      body[body.length - 1] = (body.at(-1) ?? 0) ^ 1;
      return { ...part, body };
    }
  }
}

describe('a message that is none', () => {
  it('is refused by its reason, whatever it is', () => {
    fc.assert(
      fc.property(fc.uint8Array({ maxLength: 300 }), fc.constantFrom('events', 'samples', 'record'), (bytes, leaf) => {
        const part = decodePart(leaf, bytes);
        expect('code' in part ? part.code : '').toBe('hub-part-unreadable');
      }),
    );
  });

  it('is refused before it is unpacked beyond 4 MiB', () => {
    const part: Part = {
      kind: 'samples',
      runId: 'r',
      chunk: 0,
      startedAt: '',
      sha256: '0'.repeat(64),
      body: new Uint8Array(5 * 1024 * 1024),
    };
    expect(decodePart('samples', encodePart(part))).toMatchObject({ code: 'hub-part-unreadable' });
  });

  it('has a topic of the rig that may write it, and no other', () => {
    expect(readUpTopic('limpid/van-1/up/events')).toEqual({ rig: 'van-1', leaf: 'events' });
    for (const topic of [
      'limpid//up/events',
      'limpid/a b/up/events',
      'limpid/a/up/other',
      'limpid/a/down/have',
      'x/a/up/events',
    ])
      expect(readUpTopic(topic)).toBeNull();
  });
});
