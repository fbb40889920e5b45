import { createConnection } from 'node:net';
import { connect, type IClientOptions, type MqttClient } from 'mqtt';
import { afterEach, describe, expect, test } from 'vitest';
import { type Broker, type BrokerOptions, startBroker } from '../../../firmware-bridge/transport/broker.ts';
import { maxPacketBytes, PacketSizes } from '../../../firmware-bridge/transport/broker-rules.ts';
import { mqttTransport } from '../../../firmware-bridge/transport/mqtt.ts';
import type { TransportProblem, TransportState } from '../../../firmware-bridge/transport/transport.ts';
import { kitTopic } from '../../../firmware-bridge/wire/topics.ts';
import { say } from '../../../src/core/message/message.ts';
import { realClock, until } from '../../contracts/transport-clocks.ts';
import { transportContract } from '../../contracts/transport.contract.ts';

const name = 'mac:0024befffe804ff1';
const kit = `urn:dev:${name}`;

interface Inside {
  readonly broker: Broker;
  readonly told: TransportProblem[];
  join(options?: IClientOptions): MqttClient;
  end(): Promise<void>;
}

async function inside(more: Partial<BrokerOptions> = {}): Promise<Inside> {
  const told: TransportProblem[] = [];
  const options = {
    host: '127.0.0.1',
    port: 0,
    login: null,
    clock: realClock,
    told: (p: TransportProblem) => told.push(p),
  };
  const broker = await startBroker({ ...options, ...more });
  const clients: MqttClient[] = [];
  return {
    broker,
    told,
    join(as = {}) {
      const client = connect(broker.bridge.url, { protocolVersion: 4, clientId: name, reconnectPeriod: 0, ...as });
      client.on('error', () => undefined);
      clients.push(client);
      return client;
    },
    async end() {
      for (const client of clients) client.end(true);
      await broker.close();
    },
  };
}

const connected = (client: MqttClient) =>
  new Promise<string>((resolve) => {
    client.once('connect', () => resolve('in'));
    client.once('error', (error) => resolve(error.message));
    client.once('close', () => resolve('closed'));
  });

transportContract('MQTT over the broker inside', async () => {
  const there = await inside();
  const far = there.join();
  const got: Uint8Array[] = [];
  far.on('message', (_topic, payload) => got.push(payload));
  await far.subscribeAsync(kitTopic(kit, 'do'), { qos: 1 });
  return {
    transport: mqttTransport({ ...there.broker.bridge, kit, clock: realClock }),
    send: async (chunks) => {
      for (const bytes of chunks) await far.publishAsync(kitTopic(kit, 'senml'), Buffer.from(bytes), { qos: 1 });
    },
    received: () => Buffer.concat(got),
    dispose: () => there.end(),
  };
});

describe('the broker inside', () => {
  let there: Inside;
  afterEach(() => there.end());

  test('lets a kit publish below its own name only, and says what its client id should be', async () => {
    there = await inside();
    const client = there.join();
    await client.publishAsync(kitTopic(kit, 'senml'), '[]', { qos: 1 });
    client.publish('limpid/mac:other/senml', '[]', { qos: 1 });
    expect(await connected(client)).toBe('closed');
    expect(there.told).toMatchObject([
      { code: 'broker-topic', params: { client: name, topic: 'limpid/mac:other/senml' } },
    ]);
    expect(say(there.told[0] ?? { code: '', params: {} })).toContain(kitTopic(kit, 'senml'));
  });

  test('keeps commands for the bridge: no kit may give one, nor read those of another', async () => {
    there = await inside();
    const reader = there.join({ clientId: 'mac:1' });
    const granted = await reader
      .subscribeAsync(['limpid/mac:1/do', 'limpid/mac:2/do', '#'], { qos: 1 })
      .catch(() => []);
    expect(granted.map((grant) => grant.qos)).not.toContain(2);
    const got: string[] = [];
    reader.on('message', (topic) => got.push(topic));
    const giver = there.join({ clientId: 'mac:3' });
    giver.publish('limpid/mac:1/do', '[{"n":"do-blink","vb":true}]', { qos: 1 });
    expect(await connected(giver)).toBe('closed');
    const bridge = mqttTransport({ ...there.broker.bridge, clock: realClock });
    const heard: string[] = [];
    await bridge.open({ bytes: () => undefined, message: (topic) => heard.push(topic), state: () => undefined });
    await reader.publishAsync('limpid/mac:1/senml', '[]', { qos: 1 });
    await until('the kit is known', () => heard.length > 0);
    expect(await bridge.send(Buffer.from('x'), 'urn:dev:mac:1')).toBe(true);
    expect(await bridge.send(Buffer.from('x'), 'urn:dev:mac:2')).toBe(false);
    await until('the command at its kit', () => got.length > 0);
    await bridge.close();
    expect(got).toEqual(['limpid/mac:1/do']);
    expect(there.told.map((p) => p.code)).toEqual(['broker-read', 'broker-topic']);
  });

  test('asks for the login where one is set, and never lets the bridge be impersonated', async () => {
    there = await inside({ login: { user: 'kit', password: 'right' } });
    expect(await connected(there.join({ username: 'kit', password: 'right' }))).toBe('in');
    expect(await connected(there.join({ username: 'kit', password: 'wrong' }))).toMatch(/password|closed/i);
    expect(await connected(there.join({}))).toMatch(/password|closed/i);
    const { clientId } = there.broker.bridge;
    expect(await connected(there.join({ clientId, username: 'kit', password: 'right' }))).not.toBe('in');
    expect(there.told.every((p) => p.code === 'broker-login')).toBe(true);
    expect(JSON.stringify(there.told)).not.toMatch(/right|wrong/);
  });

  test('says that it speaks 3.1.1 only to a kit that asks for 5', async () => {
    there = await inside();
    expect(await connected(there.join({ protocolVersion: 5 }))).not.toBe('in');
    await until('it is told', () => there.told.length > 0);
    expect(there.told).toEqual([{ code: 'broker-version', params: { client: name, version: 5 } }]);
  });

  test('turns away the client that is one too many', async () => {
    there = await inside({ mostClients: 2 });
    expect(await connected(there.join({ clientId: 'mac:1' }))).toBe('in');
    expect(await connected(there.join({ clientId: 'mac:2' }))).toBe('in');
    expect(await connected(there.join({ clientId: 'mac:3' }))).not.toBe('in');
    expect(there.told).toMatchObject([{ code: 'broker-full', params: { limit: 2 } }]);
  });

  test('throws out a client whose packet is too big before it holds it', async () => {
    there = await inside();
    const client = there.join();
    expect(await connected(client)).toBe('in');
    client.publish(kitTopic(kit, 'senml'), 'x'.repeat(100_000), { qos: 1 });
    expect(await connected(client)).not.toBe('in');
    expect(there.told).toMatchObject([{ code: 'broker-too-big', params: { client: name } }]);
  });

  test('goes on after clients that speak no MQTT at all', async () => {
    there = await inside();
    for (const rubbish of ['GET / HTTP/1.1\r\n\r\n', '\u0010\u0000', '\u0000'.repeat(50)]) {
      const socket = createConnection(there.broker.port, '127.0.0.1');
      socket.on('error', () => undefined);
      socket.write(rubbish);
      await new Promise((resolve) => socket.once('close', resolve));
    }
    expect(await connected(there.join())).toBe('in');
  });

  test("tells a bridge that comes with a kit's rights which topic it may not read", async () => {
    there = await inside();
    const states: TransportState[] = [];
    const bridge = mqttTransport({ url: there.broker.bridge.url, clientId: 'bridge1', clock: realClock });
    await bridge.open({ bytes: () => undefined, state: (state) => states.push(state) });
    await bridge.close();
    expect(states[1]).toMatchObject({ problem: { code: 'mqtt-not-allowed', params: { topic: 'limpid/+/senml' } } });
  });

  test('says that its port is in use, and how to go on', async () => {
    there = await inside();
    const { port } = there.broker;
    await expect(inside({ port })).rejects.toMatchObject({ code: 'broker-port-taken', params: { port } });
  });
});

describe('the watch over packet sizes', () => {
  const ping = [0xc0, 0x00];
  const publish = (bytes: number) => [0x30, (bytes & 0x7f) | 0x80, bytes >> 7, ...new Array<number>(bytes).fill(0xff)];

  test('follows packets through any split', () => {
    const stream = Uint8Array.from([...ping, ...publish(1000), ...ping, ...publish(200), ...ping]);
    for (const step of [1, 3, 64, stream.length]) {
      const sizes = new PacketSizes();
      for (let at = 0; at < stream.length; at += step) expect(sizes.tooBig(stream.subarray(at, at + step))).toBe(false);
    }
  });

  test('sees a claim that is too big from its header alone, and a header without an end', () => {
    const over = maxPacketBytes + 1;
    expect(new PacketSizes().tooBig(Uint8Array.from([0x30, (over & 0x7f) | 0x80, over >> 7]))).toBe(true);
    expect(new PacketSizes().tooBig(Uint8Array.from([0x30, 0x80, 0x80, 0x80, 0x80, 0x80]))).toBe(true);
  });
});
