import { spawnSync } from 'node:child_process';
import { mkdtempSync, rmSync } from 'node:fs';
import { tmpdir } from 'node:os';
import { join } from 'node:path';
import { PassThrough } from 'node:stream';
import { afterEach, describe, expect, test, vi } from 'vitest';
import { main } from '../../../src/cli/main.ts';
import { runViewSchema } from '../../../src/server/protocol.ts';
import { startSimulatedRig } from '../../../simulators/simulate.ts';
import { realClock, until } from '../../contracts/transport-clocks.ts';
import { freePort, hasMosquitto, mosquitto } from './broker.ts';
import { joinKit } from './mqtt-kit.ts';

const ends: (() => unknown)[] = [];
afterEach(async () => {
  for (const end of ends.splice(0).reverse()) await end();
  vi.unstubAllEnvs();
});

describe.skipIf(!hasMosquitto())('limpid start --mqtt, at a real broker with a login', () => {
  test('reads the kit there, with a login that is never printed', async () => {
    const data = mkdtempSync(join(tmpdir(), 'limpid-mqtt-'));
    ends.push(() => rmSync(data, { recursive: true, force: true }));
    const logins = join(data, 'logins');
    spawnSync('mosquitto_passwd', ['-b', '-c', logins, 'rig', 'not-so-secret']);
    const broker = await mosquitto(['allow_anonymous false', `password_file ${logins}`]);
    ends.push(() => broker.dispose());
    vi.stubEnv('LIMPID_MQTT_USER', 'rig');
    vi.stubEnv('LIMPID_MQTT_PASSWORD', 'not-so-secret');

    const pages = String(await freePort());
    const [stdout, stderr] = [new PassThrough(), new PassThrough()];
    let said = '';
    for (const stream of [stdout, stderr])
      stream.on('data', (chunk: Buffer) => {
        said += chunk.toString();
      });
    let stop = (): void => undefined;
    const stopped = new Promise<void>((resolve) => {
      stop = resolve;
    });
    const argv = ['start', '--mqtt', broker.url, '--host', '127.0.0.1', '--port', pages, '--data', data, '--json'];
    const done = main(argv, { webRoot: 'dist/web', stdout, stderr, stopped: () => stopped });
    ends.push(async () => {
      stop();
      expect(await done).toBe(0);
    });
    const rig = startSimulatedRig({ scenario: 'rehearsal', seed: 2, clock: realClock });
    const login = { username: 'rig', password: 'not-so-secret' };
    const kit = await joinKit(rig.peer, 'urn:dev:mac:02000000feed0001', broker.url, login);
    ends.push(() => kit.endAsync(true));
    ends.push(() => rig.peer.stop());
    await until('the bridge is ready', () => said.includes('"url"'));
    let links: unknown[] = [];
    for (let tries = 0; tries < 200; tries++) {
      const view = runViewSchema.parse(await (await fetch(`http://127.0.0.1:${pages}/api/view`)).json());
      links = view.links.filter((link) => link.state !== 'ok');
      if (links.length === 0) break;
      await new Promise((resolve) => setTimeout(resolve, 50));
    }
    expect(links).toEqual([]);
    expect(said).not.toContain('not-so-secret');
  });
});
