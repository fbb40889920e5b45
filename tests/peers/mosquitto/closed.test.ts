import { spawnSync } from 'node:child_process';
import { mkdtempSync, readFileSync, rmSync, writeFileSync } from 'node:fs';
import { tmpdir } from 'node:os';
import { join } from 'node:path';
import { connect, type IClientOptions, type MqttClient } from 'mqtt';
import { afterEach, describe, expect, test } from 'vitest';
import { until } from '../../contracts/transport-clocks.ts';
import { client, hasMosquitto, mosquitto } from './broker.ts';

/** What the rights given in the papers keep closed, tried by a kit or a rig in wrong hands. */
const ends: (() => unknown)[] = [];
afterEach(async () => {
  for (const end of ends.splice(0).reverse()) await end();
});

interface World {
  readonly url: string;
  readonly join: (user: string, options?: IClientOptions) => Promise<MqttClient>;
}

async function brokerOf(doc: string, users: readonly string[]): Promise<World> {
  const acl = /```acl\n([^]*?)\n *```/.exec(readFileSync(doc, 'utf8'))?.[1] ?? '';
  const folder = mkdtempSync(join(tmpdir(), 'limpid-closed-'));
  ends.push(() => rmSync(folder, { recursive: true, force: true }));
  const [logins, rights] = [join(folder, 'logins'), join(folder, 'rights')];
  writeFileSync(rights, `${acl.replace(/^ +/gm, '')}\n`);
  for (const [i, user] of users.entries())
    spawnSync('mosquitto_passwd', ['-b', ...(i === 0 ? ['-c'] : []), logins, user, `${user}-secret`]);
  const broker = await mosquitto(['allow_anonymous false', `password_file ${logins}`, `acl_file ${rights}`]);
  ends.push(() => broker.dispose());
  return {
    url: broker.url,
    async join(user, options = {}) {
      const joined = await client(broker.url, { username: user, password: `${user}-secret`, ...options });
      ends.push(() => joined.endAsync(true));
      return joined;
    },
  };
}

/** All that a client hears of these topics from now on, as far as it is let. */
async function ears(of: MqttClient, filters: readonly string[]): Promise<string[]> {
  const heard: string[] = [];
  of.on('message', (topic, payload) => heard.push(`${topic} ${payload.toString()}`));
  await of.subscribeAsync([...filters], { qos: 1 }).catch(() => []);
  return heard;
}
const tries = async (from: MqttClient, topics: readonly string[], retain = false): Promise<void> => {
  for (const topic of topics) await from.publishAsync(topic, 'forged', { qos: 1, retain }).catch(() => undefined);
};

describe.skipIf(!hasMosquitto())('the rights of docs/mqtt.md', () => {
  test('let no kit give a command, forge another, listen at large, or leave a will or a retained word for others', async () => {
    const { url, join: as } = await brokerOf('docs/mqtt.md', ['bridge', 'kit']);
    const bridge = await as('bridge', { clientId: 'bridge1' });
    const bridgeHears = await ears(bridge, ['limpid/+/senml', 'limpid/+/state']);
    const kit = await as('kit', { clientId: 'mac:1' });
    const kitHears = await ears(kit, ['limpid/mac:1/do']);
    const foreign = ['limpid/mac:1/do', 'limpid/mac:2/do', 'limpid/mac:1/senml', 'limpid/mac:1/state', '$SYS/x', 'a'];
    const spy = await as('kit', { clientId: 'mac:2' });
    const spyHears = await ears(spy, ['#', '$SYS/#', 'limpid/#', 'limpid/+/do', 'limpid/+/senml', 'limpid/mac:1/do']);
    await tries(spy, foreign);
    await tries(spy, foreign, true);
    const will = { topic: 'limpid/mac:1/do', payload: Buffer.from('forged'), qos: 1, retain: true } as const;
    const dying = await as('kit', { clientId: 'mac:3', will });
    dying.stream.destroy();
    await bridge.publishAsync('limpid/mac:1/do', 'command', { qos: 1 });
    await until('the command at its kit', () => kitHears.length > 0);
    await kit.publishAsync('limpid/mac:1/senml', 'pack', { qos: 1 });
    await until('the pack at the bridge', () => bridgeHears.length > 0);
    expect(kitHears).toEqual(['limpid/mac:1/do command']);
    expect(bridgeHears).toEqual(['limpid/mac:1/senml pack']);
    expect(spyHears).toEqual([]);
    // A name that stands for all others is no name.
    const plus = connect(url, { username: 'kit', password: 'kit-secret', clientId: '+', reconnectPeriod: 0 });
    plus.on('error', () => undefined);
    ends.push(() => plus.end(true));
    const plusHears = await new Promise<string[]>((resolve) => {
      plus.once('connect', () => void ears(plus, ['limpid/+/do']).then(resolve));
      plus.once('close', () => resolve([]));
    });
    await bridge.publishAsync('limpid/mac:1/do', 'second', { qos: 1 });
    await until('the second at its kit', () => kitHears.length > 1);
    expect(plusHears).toEqual([]);
  });
});

describe.skipIf(!hasMosquitto())('the rights of docs/firm.md', () => {
  test('let no rig speak for the hub or another rig, nor listen to either', async () => {
    const { join: as } = await brokerOf('docs/firm.md', ['hub', 'van-1', 'van-2']);
    const hub = await as('hub', { clientId: 'h' });
    const hubHears = await ears(hub, ['limpid/+/up/#']);
    const one = await as('van-1', { clientId: 'one' });
    const oneHears = await ears(one, ['limpid/van-1/down/#']);
    const foreign = [
      'limpid/van-1/down/have',
      'limpid/van-2/down/have',
      'limpid/van-1/up/events',
      'limpid/x/up/events',
    ];
    const will = { topic: 'limpid/van-1/down/have', payload: Buffer.from('forged'), qos: 1, retain: true } as const;
    const two = await as('van-2', { clientId: 'two', will });
    const twoHears = await ears(two, ['#', '$SYS/#', 'limpid/#', 'limpid/+/up/#', 'limpid/+/down/#', 'limpid/van-1/#']);
    await tries(two, foreign);
    await tries(two, foreign, true);
    await two.publishAsync('limpid/van-2/up/events', 'own', { qos: 1 });
    await until('its own word at the hub', () => hubHears.length > 0);
    two.stream.destroy();
    await hub.publishAsync('limpid/van-1/down/have', 'have', { qos: 1 });
    await until('the word of the hub at its rig', () => oneHears.length > 0);
    await one.publishAsync('limpid/van-1/up/events', 'first', { qos: 1 });
    await until('the word of the first at the hub', () => hubHears.length > 1);
    expect(oneHears).toEqual(['limpid/van-1/down/have have']);
    expect(hubHears).toEqual(['limpid/van-2/up/events own', 'limpid/van-1/up/events first']);
    expect(twoHears).toEqual([]);
  });
});
