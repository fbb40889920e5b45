import { createHash } from 'node:crypto';
import { mkdirSync, writeFileSync } from 'node:fs';
import { connect as connectSocket } from 'node:net';
import { join } from 'node:path';
import { connect, type MqttClient } from 'mqtt';
import { afterAll, beforeAll, expect, it } from 'vitest';
import { type Broker, startBroker } from '../../firmware-bridge/transport/broker.ts';
import { readTopic } from '../../firmware-bridge/wire/topics.ts';
import { realClock, until } from '../contracts/transport-clocks.ts';
import { corpus, keptOf } from './fuzz-targets.ts';
import { generator } from './generator.ts';
import { mutate } from './mutate.ts';

/** Bytes of MQTT 3.1.1, changed, at the broker inside; beside them a kit and the bridge at work. */
const name = 'mac:0024befffe804ff1';
const told: string[] = [];
let broker: Broker;
let kit: MqttClient;
let bridge: MqttClient;
const ordered: string[] = [];
const heard: string[] = [];

beforeAll(async () => {
  broker = await startBroker({
    host: '127.0.0.1',
    port: 0,
    login: null,
    clock: realClock,
    told: (problem) => told.push(problem.code),
    mostClients: 200,
  });
  const { url, user, password, clientId } = broker.bridge;
  const plain = { protocolVersion: 4, reconnectPeriod: 0 } as const;
  kit = connect(url, { ...plain, clientId: name });
  bridge = connect(url, { ...plain, clientId, username: user, password });
  kit.on('message', (topic, payload) => ordered.push(`${topic} ${payload.toString()}`));
  bridge.on('message', (topic) => heard.push(topic));
  await Promise.all(
    [kit, bridge].map((client) => new Promise((resolve) => client.once('connect', () => resolve(null)))),
  );
  await kit.subscribeAsync(`limpid/${name}/do`, { qos: 1 });
  await bridge
    .subscribeAsync(['limpid/+/senml', 'limpid/+/state', 'limpid/+/do', '$SYS/#', '#'], { qos: 1 })
    .catch(() => []);
});
afterAll(async () => {
  kit.end(true);
  bridge.end(true);
  await broker.close();
});

const text = (value: string): Buffer => {
  const bytes = Buffer.from(value);
  return Buffer.concat([Buffer.from([bytes.length >> 8, bytes.length & 255]), bytes]);
};
function packet(type: number, ...parts: readonly Buffer[]): Buffer {
  const body = Buffer.concat(parts);
  const length: number[] = [];
  for (let left = body.length; ; left >>= 7) {
    length.push((left & 127) | (left > 127 ? 128 : 0));
    if (left <= 127) break;
  }
  return Buffer.concat([Buffer.from([type, ...length]), body]);
}
const hello = (id: string, flags = 2, ...more: readonly Buffer[]): Buffer =>
  packet(0x10, text('MQTT'), Buffer.from([4, flags, 0, 60]), text(id), ...more);
const publish = (topic: string, payload: string, type = 0x32): Buffer =>
  packet(type, text(topic), type & 6 ? Buffer.from([0, 1]) : Buffer.alloc(0), Buffer.from(payload));
const subscribe = (filter: string): Buffer => packet(0x82, Buffer.from([0, 2]), text(filter), Buffer.from([1]));

/** Orders to the kit, and words in its name, among them: none may arrive. */
const seeds = [
  Buffer.concat([hello('mac:1'), publish('limpid/mac:1/senml', '[]'), Buffer.from([0xc0, 0])]),
  Buffer.concat([hello('mac:1'), publish(`limpid/${name}/do`, 'forged'), subscribe('#')]),
  Buffer.concat([hello('+'), subscribe('limpid/+/do'), publish(`limpid/${name}/senml`, 'forged', 0x33)]),
  Buffer.concat([hello('mac:1', 0x2e, text(`limpid/${name}/do`), text('forged')), Buffer.from([0xe0, 0])]),
  Buffer.concat([
    hello('mac:1'),
    publish('limpid/mac:1/state', 'ready', 0x31),
    publish('limpid/mac:1/senml', '[]', 0x34),
  ]),
  Buffer.concat([hello('__proto__'), subscribe('limpid/__proto__/do'), packet(0xa2, Buffer.from([0, 3]), text('x'))]),
  Buffer.concat([hello(name), publish(`limpid/${name}/do`, 'forged', 0x30)]),
];

async function send(bytes: Buffer): Promise<void> {
  await new Promise<void>((resolve) => {
    const socket = connectSocket({ port: broker.port, host: '127.0.0.1', localAddress: '127.0.0.1' });
    socket.on('error', () => undefined);
    socket.once('close', () => resolve());
    socket.resume();
    socket.write(bytes);
    setTimeout(() => socket.destroy(), 60);
  });
}

const rounds = Number(process.env['LIMPID_FUZZ_S'] ?? 8) * 6;

it('meets broken packets with a closed line or nothing, and lets none through to a kit or in its name', async () => {
  const random = generator(41);
  const kept = keptOf('mqtt').map((k) => k.bytes);
  const pool = [...seeds, ...kept];
  // A name of its own for each, so that the kit is not pushed off its line by one that bears its own from this machine.
  const own = (bytes: Buffer): boolean => !bytes.includes(text(name));
  for (let round = 0; round < rounds; round++) {
    const pick = (): Buffer => pool[Math.floor(random() * pool.length)] ?? Buffer.alloc(0);
    const batch = round === 0 ? pool : Array.from({ length: 60 }, () => mutate(pick(), random, pick()));
    const sent = batch.filter(own);
    const before = ordered.length;
    await Promise.all(sent.map(send));
    expect(kit.connected && bridge.connected).toBe(true);
    await bridge.publishAsync(`limpid/${name}/do`, `order ${round}`, { qos: 1 });
    await until('the order at its kit', () => ordered.length > before);
    await kit.publishAsync(`limpid/${name}/senml`, '[]', { qos: 1 });
    const isClean = ordered.every((o) => /^limpid\/[^/]+\/do order \d+$/.test(o));
    if (!isClean)
      for (const bytes of sent) {
        mkdirSync(join(corpus, 'mqtt'), { recursive: true });
        writeFileSync(join(corpus, 'mqtt', createHash('sha256').update(bytes).digest('hex').slice(0, 12)), bytes);
      }
    expect(ordered.filter((o) => !/^limpid\/[^/]+\/do order \d+$/.test(o))).toEqual([]);
  }
  expect(ordered).toHaveLength(rounds);
  // The bridge, which may read all, heard what kits may say, its own orders, and the broker’s own words.
  expect(heard.filter((topic) => readTopic(topic) === null && !topic.startsWith('$SYS/'))).toEqual([]);
  expect(heard.filter((topic) => readTopic(topic)?.leaf === 'do')).toHaveLength(rounds);
  expect(told.length).toBeGreaterThan(0);
});
