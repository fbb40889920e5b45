import { afterEach, describe, expect, test } from 'vitest';
import { mostOfOne } from '../../../firmware-bridge/transport/broker-gate.ts';
import { kitTopic } from '../../../firmware-bridge/wire/topics.ts';
import { say } from '../../../src/core/message/message.ts';
import { realClock, until } from '../../contracts/transport-clocks.ts';
import { connected, granted, type Inside, inside } from './broker-world.ts';

const name = 'mac:0024befffe804ff1';
const stranger = '127.0.0.2';
let there: Inside;
afterEach(() => there.end());
const codes = (): string[] => there.told.map((problem) => problem.code);

describe('a stranger at the broker inside', () => {
  test.each(['+', '#', 'mac:1/do', '$SYS', ''])('named "%s" reads no commands and writes nothing', async (id) => {
    there = await inside();
    const kit = there.join(name);
    expect(await connected(kit)).toBe('in');
    const spy = there.join(id);
    expect(await connected(spy)).toBe('in');
    expect(await granted(spy, [`limpid/${id === '#' ? '+' : id}/do`, 'limpid/+/do', 'limpid/#'])).toEqual([]);
    spy.publish(`limpid/${id}/senml`, '[]');
    await connected(spy);
    expect(codes().filter((code) => code !== 'broker-name' && code !== 'broker-broken')).toEqual([]);
    expect(kit.connected).toBe(true);
  });

  test('hears nothing but its own commands, whatever it asked for where a mapping file opens topics', async () => {
    there = await inside({ foreign: { readings: ['plant/t'], state: null } });
    const spy = there.join('mac:2');
    const seen: string[] = [];
    spy.on('message', (topic) => seen.push(topic));
    await connected(spy);
    const all = ['plant/#', 'plant/t', 'limpid/mac:2/do', ...Array.from({ length: 20 }, (_, i) => `more/${i}`)];
    expect(await granted(spy, all)).toHaveLength(16);
    expect(await granted(spy, ['#', '+/t', '$SYS/#', 'limpid/mac:1/do'])).toEqual([]);
    const bridgeHears = there.join('x', { username: 'bridge', password: there.broker.bridge.password });
    const heard: string[] = [];
    bridgeHears.on('message', (topic) => heard.push(topic));
    await connected(bridgeHears);
    await granted(bridgeHears, ['plant/t', 'limpid/+/senml']);
    const kitOfPlant = there.join('mac:3');
    await connected(kitOfPlant);
    await kitOfPlant.publishAsync('plant/t', '1', { qos: 1 });
    await until('the bridge has it', () => heard.includes('plant/t'));
    await spy.publishAsync('limpid/mac:2/senml', '[]', { qos: 1 });
    await until('and this, too', () => heard.length === 2);
    expect(seen).toEqual([]);
  });

  test('throws no kit out by the broker’s own topics', async () => {
    there = await inside();
    const kit = there.join(name);
    await connected(kit);
    const spy = there.join('mac:2');
    await connected(spy);
    expect(await granted(spy, ['$SYS/#', '$SYS/+/new/clients'])).toEqual([]);
    spy.publish('$SYS/other/new/clients', name, { qos: 1 });
    expect(await connected(spy)).toBe('closed');
    await kit.publishAsync(kitTopic(name, 'senml'), '[]', { qos: 1 });
    expect(kit.connected).toBe(true);
  });

  test('leaves no last will on a topic that is not its own', async () => {
    there = await inside();
    const heard = await there.bridge();
    const kit = there.join(name);
    const ordered: string[] = [];
    kit.on('message', (topic) => ordered.push(topic));
    await connected(kit);
    await granted(kit, [kitTopic(name, 'do')]);
    for (const [i, topic] of [kitTopic(name, 'do'), kitTopic(name, 'senml'), kitTopic(name, 'state')].entries()) {
      const spy = there.join(`mac:${i}`, { will: { topic, payload: Buffer.from('[]'), qos: 1, retain: true } });
      await connected(spy);
      spy.stream.destroy();
    }
    await until('all three were refused', () => codes().filter((code) => code === 'broker-topic').length === 3);
    const own = { topic: kitTopic('mac:9', 'senml'), payload: Buffer.from('[]'), qos: 1 as const, retain: false };
    const last = there.join('mac:9', { will: own });
    await connected(last);
    last.stream.destroy();
    await until('its own comes', () => heard.length > 0);
    expect(heard).toEqual(['limpid/mac:9/senml []']);
    expect(ordered).toEqual([]);
  });

  test('does not take the name of a kit that is heard; a kit with a new address does, once the old one is silent', async () => {
    let aheadS = 0;
    there = await inside({ clock: { ...realClock, nowS: () => realClock.nowS() + aheadS } });
    const kit = there.join(name);
    await connected(kit);
    expect(await connected(there.join(name, {}, stranger))).not.toBe('in');
    expect(kit.connected).toBe(true);
    expect(there.told).toMatchObject([{ code: 'broker-taken', params: { client: name, address: stranger } }]);
    expect(say(there.told[0] ?? { code: '', params: {} })).toContain('LIMPID_MQTT_USER');
    aheadS = 20;
    expect(await connected(there.join(name, {}, stranger))).toBe('in');
  });

  test('takes a few places, and leaves the others to kits and to the bridge', async () => {
    there = await inside();
    const taken = Array.from({ length: mostOfOne }, (_, i) => there.join(`mac:${i}`, {}, stranger));
    expect(await Promise.all(taken.map(connected))).toEqual(taken.map(() => 'in'));
    expect(await connected(there.join('mac:x', {}, stranger))).not.toBe('in');
    for (const address of ['127.0.0.3', '127.0.0.4', '127.0.0.5'])
      for (let i = 0; i < mostOfOne; i++) await connected(there.join(`${address}:${i}`, {}, address));
    expect(await connected(there.join('mac:y', {}, '127.0.0.6'))).not.toBe('in');
    // All places of others are taken; this machine's are counted apart.
    const heard = await there.bridge();
    await taken[0]?.publishAsync('limpid/mac:0/senml', '[]', { qos: 1 });
    await until('the bridge hears', () => heard.length > 0);
  });

  test('joins again and again no faster than a kit would, and holds no other up', async () => {
    there = await inside({ clock: { ...realClock, nowS: () => 1000 } });
    const results: string[] = [];
    for (let i = 0; i < 25; i++) {
      const spy = there.join(`mac:${i}`, {}, stranger);
      results.push(await connected(spy));
      spy.stream.destroy();
      await until('it is gone', () => !spy.connected);
    }
    expect(results.slice(0, 20)).toEqual(Array.from({ length: 20 }, () => 'in'));
    expect(results.slice(20)).not.toContain('in');
    expect(codes()).toEqual(['broker-full']);
    expect(await connected(there.join(name, {}, '127.0.0.3'))).toBe('in');
  });
});
