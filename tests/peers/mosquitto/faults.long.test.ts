import { spawnSync } from 'node:child_process';
import { join } from 'node:path';
import type { MqttClient } from 'mqtt';
import { afterEach, describe, expect, test } from 'vitest';
import { mqttTransport, type MqttOptions } from '../../../firmware-bridge/transport/mqtt.ts';
import type { Transport, TransportState } from '../../../firmware-bridge/transport/transport.ts';
import { encodePack } from '../../../firmware-bridge/wire/encode.ts';
import type { Pack } from '../../../firmware-bridge/wire/pack.ts';
import { encodeCbor } from '../../../firmware-bridge/wire/senml-cbor.ts';
import { senmlPackSchema } from '../../../firmware-bridge/wire/senml.ts';
import { kitTopic } from '../../../firmware-bridge/wire/topics.ts';
import { WireReader } from '../../../firmware-bridge/wire/wire-reader.ts';
import { say } from '../../../src/core/message/message.ts';
import { realClock, until } from '../../contracts/transport-clocks.ts';
import { client, hasMosquitto, mosquitto, type Mosquitto } from './broker.ts';

const kit = 'urn:dev:mac:0024befffe804ff1';
const senml = kitTopic(kit, 'senml');
const json = (seq: number, late = false): string =>
  encodePack({ kit, boot: 1, seq, upS: seq / 10, late, values: { turbidityNtu: seq } });

/** A bridge's end: transport, reader, and what became of it. */
class Bridge {
  readonly reader = new WireReader();
  readonly packs: Pack[] = [];
  readonly states: TransportState[] = [];
  readonly transport: Transport;

  constructor(options: Omit<MqttOptions, 'clock' | 'hearing'>) {
    this.transport = mqttTransport({ ...options, clock: realClock, hearing: this.reader.counters });
  }

  open(): Promise<void> {
    return this.transport.open({
      bytes: () => undefined,
      message: (topic, payload) => {
        for (const decoded of this.reader.message(topic, payload)) if (decoded.ok) this.packs.push(decoded.pack);
      },
      state: (state) => this.states.push(state),
    });
  }

  get seqs(): number[] {
    return this.packs.map((pack) => pack.seq);
  }

  problem(code: string): string | null {
    for (const state of this.states) if ('problem' in state && state.problem.code === code) return say(state.problem);
    return null;
  }
}

const versions = [
  ['5', 5],
  ['3.1.1', 4],
] as const;
const upTo = (n: number): number[] => Array.from({ length: n }, (_, i) => i);

describe.skipIf(!hasMosquitto())('kits on a real broker (mosquitto)', () => {
  const ends: (() => Promise<unknown>)[] = [];
  afterEach(async () => {
    for (const end of ends.splice(0).reverse()) await end();
  });
  const aBroker = async (more?: readonly string[]): Promise<Mosquitto> => {
    const broker = await mosquitto(more);
    ends.push(() => broker.dispose());
    return broker;
  };
  const aBridge = (options: Omit<MqttOptions, 'clock' | 'hearing'>): Bridge => {
    const bridge = new Bridge(options);
    ends.push(() => bridge.transport.close());
    return bridge;
  };
  const aKit = async (broker: Mosquitto, will = false): Promise<MqttClient> => {
    const made = await client(broker.url, {
      clientId: 'kit',
      ...(will && { will: { topic: kitTopic(kit, 'state'), payload: Buffer.from('lost'), qos: 1, retain: true } }),
    });
    ends.push(() => made.endAsync(true));
    return made;
  };

  test.each(versions)(
    'MQTT %s: no pack is lost over a restart of the broker, and none is counted twice',
    async (_, version) => {
      const broker = await aBroker();
      const bridge = aBridge({ url: broker.url, clientId: 'bridge1', version });
      await bridge.open();
      const far = await aKit(broker);
      const acknowledged: Promise<unknown>[] = [];
      const say = (seq: number): void => {
        acknowledged.push(far.publishAsync(senml, json(seq), { qos: 1 }));
      };
      for (const seq of upTo(50)) say(seq);
      await until('the first packs', () => bridge.packs.length >= 50);
      await broker.stop();
      // The kit's library keeps these and sends them when the broker is back.
      for (const seq of upTo(100).slice(50)) say(seq);
      await until('the loss is told', () => bridge.transport.state.kind === 'waiting');
      await broker.start();
      for (const seq of upTo(150).slice(100)) say(seq);
      await Promise.all(acknowledged);
      await until('all packs', () => bridge.packs.length >= 150);
      expect(bridge.seqs.sort((a, b) => a - b)).toEqual(upTo(150));
      expect(bridge.reader.counters.missing).toBe(0);
      expect(bridge.problem('mqtt-gone') ?? bridge.problem('mqtt-no-broker')).toContain(broker.url);
      await until('it is open again', () => bridge.transport.state.kind === 'open');
    },
  );

  test.each(versions)(
    'MQTT %s: what came while the bridge was away, and the broker was restarted meanwhile, comes after',
    async (_, version) => {
      const broker = await aBroker();
      const bridge = aBridge({ url: broker.url, clientId: 'bridge1', version });
      await bridge.open();
      await bridge.transport.close();
      const far = await aKit(broker);
      for (const seq of upTo(30)) await far.publishAsync(senml, json(seq), { qos: 1 });
      await broker.stop();
      await broker.start();
      await bridge.open();
      await until('all packs', () => bridge.packs.length >= 30);
      expect(bridge.seqs).toEqual(upTo(30));
    },
  );

  test.each(versions)('MQTT %s: a pack that comes twice is used once', async (_, version) => {
    const broker = await aBroker();
    const bridge = aBridge({ url: broker.url, clientId: 'bridge1', version });
    await bridge.open();
    const far = await aKit(broker);
    for (const seq of [0, 1, 1, 2, 0]) await far.publishAsync(senml, json(seq), { qos: 1, dup: seq === 1 });
    await far.publishAsync(senml, json(3), { qos: 1 });
    await until('the last pack', () => bridge.seqs.includes(3));
    expect(bridge.seqs).toEqual([0, 1, 2, 3]);
    expect(bridge.reader.counters).toMatchObject({ packs: 4, duplicates: 2 });
  });

  test('JSON, CBOR, late packs and a retained one: each is taken for what it is', async () => {
    const broker = await aBroker();
    const far = await aKit(broker);
    await far.publishAsync(senml, json(99), { qos: 1, retain: true });
    const bridge = aBridge({ url: broker.url, clientId: 'bridge1' });
    await bridge.open();
    await far.publishAsync(senml, json(4), { qos: 1 });
    const cbor = encodeCbor(senmlPackSchema.parse(JSON.parse(json(5))));
    await far.publishAsync(senml, Buffer.from(cbor), { qos: 1 });
    await far.publishAsync(senml, json(3, true), { qos: 1 });
    await far.publishAsync(kitTopic('urn:dev:mac:other', 'senml'), json(6), { qos: 1 });
    await far.publishAsync(senml, 'no pack', { qos: 1 });
    await until('all messages', () => bridge.reader.counters.lines >= 5);
    expect(bridge.packs.map((pack) => [pack.seq, pack.values.turbidityNtu, pack.late])).toEqual([
      [4, 4, false],
      [5, 5, false],
      [3, 3, true],
    ]);
    expect(bridge.reader.counters).toMatchObject({ packs: 3, late: 1, badLines: 2 });
  });

  test('two kits on one broker are told apart, and a command reaches the one it is for', async () => {
    const broker = await aBroker();
    const bridge = aBridge({ url: broker.url, clientId: 'bridge1' });
    await bridge.open();
    const other = 'urn:dev:mac:2';
    const far = await aKit(broker);
    const got: string[] = [];
    far.on('message', (topic) => got.push(topic));
    await far.subscribeAsync([kitTopic(kit, 'do'), kitTopic(other, 'do')], { qos: 1 });
    expect(await bridge.transport.send(Buffer.from('to nobody known'))).toBe(false);
    await far.publishAsync(senml, json(0), { qos: 1 });
    await far.publishAsync(kitTopic(other, 'senml'), encodePack({ kit: other, boot: 1, seq: 0, upS: 0 }), { qos: 1 });
    await until('both kits', () => bridge.packs.length >= 2);
    expect(await bridge.transport.send(Buffer.from('one'), other)).toBe(true);
    expect(await bridge.transport.send(Buffer.from('all'))).toBe(true);
    expect(await bridge.transport.send(Buffer.from('none'), 'urn:dev:mac:3')).toBe(false);
    await until('the commands', () => got.length >= 3);
    expect(got.sort()).toEqual([kitTopic(kit, 'do'), kitTopic(other, 'do'), kitTopic(other, 'do')].sort());
  });

  test('a kit that goes is told with its name, by its will', async () => {
    const broker = await aBroker();
    const bridge = aBridge({ url: broker.url, clientId: 'bridge1' });
    const far = await aKit(broker, true);
    await far.publishAsync(kitTopic(kit, 'state'), 'ready', { qos: 1, retain: true });
    await bridge.open();
    await far.publishAsync(senml, json(0), { qos: 1 });
    await until('the pack', () => bridge.packs.length > 0);
    far.options.reconnectPeriod = 0;
    far.stream.destroy();
    await until('the kit is told as lost', () => bridge.problem('mqtt-kit-lost') !== null);
    expect(bridge.problem('mqtt-kit-lost')).toContain('mac:0024befffe804ff1');
  });

  test.each(versions)(
    'MQTT %s: a wrong login is told, without the login; the right one is let in',
    async (_, version) => {
      const file = join((await aBroker()).folder, 'logins');
      expect(spawnSync('mosquitto_passwd', ['-b', '-c', file, 'rig', 'open-sesame']).status).toBe(0);
      const closed = await aBroker(['allow_anonymous false', `password_file ${file}`]);
      const wrong = aBridge({ url: closed.url.replace('//', '//rig:not-so-secret@'), clientId: 'bridge1', version });
      await wrong.open();
      expect(wrong.transport.state.kind).toBe('waiting');
      const told = wrong.problem('mqtt-login') ?? '';
      expect(told).toContain('LIMPID_MQTT_PASSWORD');
      expect(`${told}${wrong.transport.name}${JSON.stringify(wrong.states)}`).not.toMatch(/not-so-secret|rig:/);
      const right = aBridge({ url: closed.url, user: 'rig', password: 'open-sesame', clientId: 'bridge2', version });
      await right.open();
      expect(right.transport.state.kind).toBe('open');
    },
  );

  test.each(versions)(
    'MQTT %s: a second bridge with the same id is told, and the two do not fight',
    async (_, version) => {
      const broker = await aBroker();
      const first = aBridge({ url: broker.url, clientId: 'bridge1', version });
      await first.open();
      const second = aBridge({ url: broker.url, clientId: 'bridge1', version });
      await second.open();
      const told = (): string | null => first.problem('mqtt-taken-over') ?? second.problem('mqtt-taken-over');
      await until('the clash is told', () => told() !== null);
      expect(told()).toContain('bridge1');
      await until('one of them is in, and stays', () => [first, second].some((b) => b.transport.state.kind === 'open'));
      const opened = (): number => [...first.states, ...second.states].filter((s) => s.kind === 'open').length;
      const before = opened();
      await new Promise((resolve) => setTimeout(resolve, 1500));
      expect(opened() - before).toBeLessThanOrEqual(1);
    },
  );

  test('no broker there: told as such, and taken up when it comes', async () => {
    const broker = await aBroker();
    await broker.stop();
    const bridge = aBridge({ url: broker.url, clientId: 'bridge1' });
    await bridge.open();
    expect(bridge.transport.state).toMatchObject({ kind: 'waiting', problem: { code: 'mqtt-no-broker' } });
    expect(await bridge.transport.send(Buffer.from('x'), kit)).toBe(false);
    await broker.start();
    await until('it is open', () => bridge.transport.state.kind === 'open');
  });
});
