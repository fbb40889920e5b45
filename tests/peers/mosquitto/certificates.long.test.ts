import { spawn } from 'node:child_process';
import { once } from 'node:events';
import { mkdtempSync, rmSync, writeFileSync } from 'node:fs';
import { tmpdir } from 'node:os';
import { join } from 'node:path';
import { afterEach, describe, expect, test } from 'vitest';
import { encodePack } from '../../../firmware-bridge/wire/encode.ts';
import { kitTopic } from '../../../firmware-bridge/wire/topics.ts';
import { until } from '../../contracts/transport-clocks.ts';
import { client, hasMosquitto } from './broker.ts';
import { tlsBroker } from './tls-broker.ts';

const ends: (() => unknown)[] = [];
afterEach(async () => {
  for (const end of ends.splice(0).reverse()) await end();
});

describe.skipIf(!hasMosquitto())("a kit's broker that changes its certificate", () => {
  test('a right one: the bridge goes on; a wrong one: refused in a sentence, and every pack comes after, once', async () => {
    const folder = mkdtempSync(join(tmpdir(), 'limpid-kit-certificates-'));
    ends.push(() => rmSync(folder, { recursive: true, force: true }));
    const broker = await tlsBroker(folder);
    ends.push(() => broker.dispose());
    writeFileSync(join(folder, 'ca.pem'), broker.ca);
    // An authority of the firm's own is trusted by the environment of the process.
    const bridge = spawn(process.execPath, ['--import', 'tsx', 'tests/peers/network/ear.ts', broker.tlsUrl], {
      stdio: ['ignore', 'pipe', 'inherit'],
      env: { ...process.env, NODE_EXTRA_CA_CERTS: join(folder, 'ca.pem') },
    });
    ends.push(async () => {
      bridge.kill('SIGKILL');
      await once(bridge, 'close');
    });
    let said = '';
    bridge.stdout.setEncoding('utf8').on('data', (text: string) => (said += text));
    const seqs = (): number[] => [...said.matchAll(/^pack (\d+)$/gm)].map((found) => Number(found[1]));
    const kit = 'urn:dev:mac:0024befffe804ff1';
    const far = await client(broker.url);
    ends.push(() => far.endAsync(true));
    await until('the bridge listens', () => /^open$/m.test(said), 60);
    let sent = 0;
    const send = async (count: number): Promise<void> => {
      for (const end = sent + count; sent < end; sent++)
        await far.publishAsync(kitTopic(kit, 'senml'), encodePack({ kit, boot: 1, seq: sent, upS: sent / 10 }), {
          qos: 1,
        });
    };
    const allCame = (what: string): Promise<void> => until(`all packs, ${what}`, () => seqs().length >= sent, 60);
    await send(50);
    await allCame('the first certificate');
    await broker.show(broker.good());
    await send(50);
    await allCame('a new one of the same authority');
    for (const [what, made, words] of broker.bad()) {
      said += '-- \n';
      await broker.show(made);
      const told = (): string => said.slice(said.lastIndexOf('-- '));
      await until(`the bridge refuses ${what}`, () => words.test(told()), 60);
      await send(50);
      expect(seqs().length).toBe(sent - 50);
      console.log(
        told()
          .split('\n')
          .find((line) => words.test(line)),
      );
      await broker.show(broker.good());
      await allCame(`after ${what}`);
    }
    expect(seqs().sort((a, b) => a - b)).toEqual(Array.from({ length: sent }, (_, seq) => seq));
  }, 400_000);
});
