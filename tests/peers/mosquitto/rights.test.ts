import { spawnSync } from 'node:child_process';
import { mkdtempSync, readFileSync, rmSync, writeFileSync } from 'node:fs';
import { tmpdir } from 'node:os';
import { join } from 'node:path';
import { afterEach, describe, expect, test } from 'vitest';
import { maxPacketBytes } from '../../../firmware-bridge/transport/broker-rules.ts';
import { mqttTransport } from '../../../firmware-bridge/transport/mqtt.ts';
import { kitTopic } from '../../../firmware-bridge/wire/topics.ts';
import { realClock, until } from '../../contracts/transport-clocks.ts';
import { client, hasMosquitto, mosquitto } from './broker.ts';

const doc = readFileSync('docs/mqtt.md', 'utf8');
const block = (name: string): string => new RegExp(`\`\`\`${name}\n([^]*?)\n\`\`\``).exec(doc)?.[1] ?? '';
const ends: (() => unknown)[] = [];
afterEach(async () => {
  for (const end of ends.splice(0).reverse()) await end();
});

test('the page gives the packet limit of the broker inside', () => expect(doc).toContain(`${maxPacketBytes} bytes`));

describe.skipIf(!hasMosquitto())('the broker settings of docs/mqtt.md, run', () => {
  test('let the bridge read and give commands, a kit do what is its own, and nobody more', async () => {
    const folder = mkdtempSync(join(tmpdir(), 'limpid-rights-'));
    ends.push(() => rmSync(folder, { recursive: true, force: true }));
    const [logins, rights] = [join(folder, 'logins'), join(folder, 'rights')];
    writeFileSync(rights, `${block('acl')}\n`);
    for (const [i, user] of ['bridge', 'kit'].entries())
      spawnSync('mosquitto_passwd', ['-b', ...(i === 0 ? ['-c'] : []), logins, user, `${user}-secret`]);
    const settings = block('conf')
      .split('\n')
      .filter((line) => /^(allow_anonymous|password_file|acl_file)/.test(line))
      .map((line) => line.replace('/etc/mosquitto', folder));
    expect(settings).toHaveLength(3);
    const broker = await mosquitto(settings);
    ends.push(() => broker.dispose());

    const heard: string[] = [];
    const login = { user: 'bridge', password: 'bridge-secret' };
    const bridge = mqttTransport({ url: broker.url, ...login, clientId: 'bridge1', clock: realClock });
    ends.push(() => bridge.close());
    await bridge.open({
      bytes: () => undefined,
      message: (topic, payload) => heard.push(`${topic} ${Buffer.from(payload).toString()}`),
      state: () => undefined,
    });
    const kit = await client(broker.url, { clientId: 'mac:1', username: 'kit', password: 'kit-secret' });
    ends.push(() => kit.endAsync(true));
    const ordered: string[] = [];
    kit.on('message', (topic) => ordered.push(topic));
    await kit.subscribeAsync(['limpid/mac:1/do', 'limpid/mac:2/do', 'limpid/mac:2/senml'], { qos: 1 }).catch(() => []);
    await kit.publishAsync('limpid/mac:2/senml', 'of another', { qos: 1 }).catch(() => undefined);
    await kit.publishAsync('limpid/mac:1/do', 'an order', { qos: 1 }).catch(() => undefined);
    await kit.publishAsync('limpid/mac:1/senml', 'its own', { qos: 1 });
    await until('the kit is heard', () => heard.length > 0);
    expect(await bridge.send(Buffer.from('x'), 'urn:dev:mac:1')).toBe(true);
    await until('the order', () => ordered.length > 0);
    expect(heard).toEqual(['limpid/mac:1/senml its own']);
    expect(ordered).toEqual([kitTopic('urn:dev:mac:1', 'do')]);
  });
});
