import { connect as connectSocket } from 'node:net';
import { afterEach, describe, expect, test } from 'vitest';
import { kitTopic } from '../../../firmware-bridge/wire/topics.ts';
import { realClock, until } from '../../contracts/transport-clocks.ts';
import { connected, granted, type Inside, inside } from './broker-world.ts';

const name = 'mac:0024befffe804ff1';
const stranger = '127.0.0.2';
let there: Inside;
afterEach(() => there.end());
const codes = (): string[] => there.told.map((problem) => problem.code);

describe('a client of the broker inside', () => {
  test('leaves nothing behind but a bounded number of short states', async () => {
    there = await inside({ mostClients: 200 });
    const kits = Array.from({ length: 80 }, (_, i) => there.join(`mac:${i}`));
    await Promise.all(kits.map(connected));
    for (const [i, kit] of kits.entries()) {
      const retained = { qos: 1, retain: true } as const;
      await kit.publishAsync(`limpid/mac:${i}/senml`, '[]', retained);
      await kit.publishAsync(`limpid/mac:${i}/state`, i === 0 ? 'x'.repeat(500) : 'ready', retained);
    }
    const late = there.join('late', { username: 'bridge', password: there.broker.bridge.password });
    const kept: string[] = [];
    late.on('message', (topic) => kept.push(topic));
    await connected(late);
    await granted(late, ['limpid/+/senml', 'limpid/+/state']);
    await until('what is kept', () => kept.length >= 64);
    // One more round trip: what else was kept would have come before its answer.
    await granted(late, ['limpid/x/senml']);
    expect(kept).toHaveLength(64);
    expect(kept.filter((topic) => !topic.endsWith('/state') || topic.includes('/mac:0/'))).toEqual([]);
  });

  test('that floods is read more slowly: all that a kit kept comes, in order, and others are not held up', async () => {
    // Twenty times as fast as the wall clock.
    const fast = {
      nowS: () => realClock.nowS() * 20,
      after: (delayS: number, fn: () => void) => realClock.after(delayS / 20, fn),
    };
    there = await inside({ clock: fast });
    const heard = await there.bridge();
    const [kit, other] = [there.join(name), there.join('mac:2')];
    await Promise.all([connected(kit), connected(other)]);
    const sent = Array.from({ length: 3000 }, (_, i) => `${i}`);
    const all = Promise.all(sent.map((text) => kit.publishAsync(kitTopic(name, 'senml'), text, { qos: 1 })));
    await until('the flood is on', () => heard.length > 100);
    await other.publishAsync('limpid/mac:2/senml', 'other', { qos: 1 });
    await until('the other comes through', () => heard.includes('limpid/mac:2/senml other'));
    await all;
    await until('all of it', () => heard.length >= 3001);
    expect(heard.filter((h) => !h.includes('mac:2'))).toEqual(sent.map((text) => `${kitTopic(name, 'senml')} ${text}`));
    expect(there.told).toEqual([]);
  });

  test('that sends more packets than any kit is thrown out', async () => {
    there = await inside();
    const socket = connectSocket({ port: there.broker.port, host: '127.0.0.1', localAddress: stranger });
    socket.on('error', () => undefined);
    const closed = new Promise((resolve) => socket.once('close', resolve));
    // CONNECT of client "m", clean, keepalive 60; then pings.
    socket.write(Buffer.from([0x10, 13, 0, 4, 0x4d, 0x51, 0x54, 0x54, 4, 2, 0, 60, 0, 1, 0x6d]));
    await new Promise((resolve) => socket.once('data', resolve));
    socket.resume();
    for (let i = 0; i < 20; i++) socket.write(Buffer.alloc(2000, Buffer.from([0xc0, 0])));
    await closed;
    expect(codes()).toEqual(['broker-too-fast']);
  });
});
