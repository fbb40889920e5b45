import { afterEach, describe, expect, test } from 'vitest';
import { mqttTransport } from '../../../firmware-bridge/transport/mqtt.ts';
import type { Transport } from '../../../firmware-bridge/transport/transport.ts';
import { encodePack } from '../../../firmware-bridge/wire/encode.ts';
import { kitTopic } from '../../../firmware-bridge/wire/topics.ts';
import { WireReader } from '../../../firmware-bridge/wire/wire-reader.ts';
import { say } from '../../../src/core/message/message.ts';
import { realClock, until } from '../../contracts/transport-clocks.ts';
import { badLink } from '../firm/bad-link.ts';
import { client, hasMosquitto, mosquitto, type Mosquitto } from './broker.ts';

const ends: (() => unknown)[] = [];
afterEach(async () => {
  for (const end of ends.splice(0).reverse()) await end();
});

const kit = 'urn:dev:mac:0024befffe804ff1';
const upTo = (n: number): number[] => Array.from({ length: n }, (_, i) => i);

/** A broker with limits, a kit that sends to it, and a bridge's ear at it. */
class World {
  readonly broker: Mosquitto;
  readonly reader = new WireReader();
  readonly seqs: number[] = [];
  readonly transport: Transport;

  constructor(broker: Mosquitto, url: string) {
    this.broker = broker;
    this.transport = mqttTransport({ url, clientId: 'bridge1', clock: realClock, hearing: this.reader.counters });
  }

  static async with(limits: readonly string[], port?: (broker: Mosquitto) => Promise<number>): Promise<World> {
    const broker = await mosquitto(['allow_anonymous true', ...limits]);
    ends.push(() => broker.dispose());
    const made = new World(broker, port ? `mqtt://127.0.0.1:${await port(broker)}` : broker.url);
    ends.push(() => made.transport.close());
    return made;
  }

  open(): Promise<void> {
    return this.transport.open({
      bytes: () => undefined,
      state: () => undefined,
      message: (topic, payload) => {
        for (const decoded of this.reader.message(topic, payload)) if (decoded.ok) this.seqs.push(decoded.pack.seq);
      },
    });
  }

  /** All at once: the broker has them when this resolves. */
  async send(from: number, to: number): Promise<void> {
    const far = await client(this.broker.url, { clientId: 'kit', protocolVersion: 5 });
    const one = (seq: number) =>
      far.publishAsync(kitTopic(kit, 'senml'), encodePack({ kit, boot: 1, seq, upS: seq / 10 }), { qos: 1 });
    await Promise.all(upTo(to - from).map((i) => one(from + i)));
    await far.endAsync();
  }
}

describe.skipIf(!hasMosquitto())("a kit's broker that holds back", () => {
  test('one message under way, and a link of 3 kB a second: every pack comes, once and in order', async () => {
    const world = await World.with(['max_inflight_messages 1'], async (broker) => {
      const slow = await badLink(broker.port);
      ends.push(() => slow.close());
      Object.assign(slow.link, { bytesPerS: 3000, delayMs: 20 });
      return slow.port;
    });
    await world.open();
    await world.send(0, 120);
    await until('all packs', () => world.seqs.length >= 120, 120);
    expect(world.seqs).toEqual(upTo(120));
    expect(world.reader.counters).toMatchObject({ missing: 0, duplicates: 0 });
  });

  test('no room for one more connection: told, and taken up when there is', async () => {
    const world = await World.with(['max_connections 1']);
    const other = await client(world.broker.url, { clientId: 'other' });
    ends.push(() => other.endAsync(true));
    await world.open();
    // This broker ends such a connection without a word.
    const { state } = world.transport;
    expect('problem' in state ? say(state.problem) : '').toMatch(/all the connections it takes/);
    await other.endAsync();
    await until('it is open', () => world.transport.state.kind === 'open', 60);
  });

  test('a queue of twenty while the bridge is away: what the broker dropped is counted as missing', async () => {
    const world = await World.with(['max_queued_messages 20', 'max_inflight_messages 1']);
    await world.open();
    await world.send(0, 10);
    await until('the first packs', () => world.seqs.length === 10);
    await world.transport.close();
    await world.send(10, 90);
    await world.open();
    await until('what was kept', () => world.seqs.length >= 30);
    await world.send(90, 91);
    await until('the newest pack', () => world.seqs.includes(90));
    const lost = upTo(91).filter((seq) => !world.seqs.includes(seq));
    expect(lost.length).toBeGreaterThan(40);
    expect(world.reader.counters.missing).toBe(lost.length);
    expect(new Set(world.seqs).size).toBe(world.seqs.length);
  });
});
