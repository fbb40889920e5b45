import { mkdtempSync, rmSync, writeFileSync } from 'node:fs';
import { tmpdir } from 'node:os';
import { join } from 'node:path';
import { afterEach, describe, expect, test } from 'vitest';
import { machineClock } from '../../../src/run/clock.ts';
import { startHub } from '../../../src/run/hub.ts';
import { startOutbox } from '../../../src/run/outbox-link.ts';
import { pem } from '../../../src/server/tls/certificate.ts';
import { keepTls } from '../../../src/server/tls/keep.ts';
import { until } from '../../contracts/transport-clocks.ts';
import { freePort, hasMosquitto, mosquitto } from '../mosquitto/broker.ts';
import { rig } from './rig.ts';

const ends: (() => unknown)[] = [];
afterEach(async () => {
  for (const end of ends.splice(0).reverse()) await end();
});

describe.skipIf(!hasMosquitto())('the way to the firm, encrypted', () => {
  test('goes with the firm’s own authority, and not with another’s, nor without', async () => {
    const folder = mkdtempSync(join(tmpdir(), 'limpid-firm-tls-'));
    ends.push(() => rmSync(folder, { recursive: true, force: true }));
    const tls = keepTls(join(folder, 'firm'), 'broker', ['127.0.0.1', 'localhost'], Date.now());
    const other = keepTls(join(folder, 'other'), 'broker', ['127.0.0.1', 'localhost'], Date.now());
    for (const [name, text] of [
      ['ca.pem', pem(tls.authority)],
      ['cert.pem', tls.cert],
      ['key.pem', tls.key],
    ] as const)
      writeFileSync(join(folder, name), text);
    const port = await freePort();
    const broker = await mosquitto([
      'allow_anonymous true',
      `listener ${port} 127.0.0.1`,
      `certfile ${folder}/cert.pem`,
      `keyfile ${folder}/key.pem`,
    ]);
    ends.push(() => broker.dispose());
    const url = `mqtts://127.0.0.1:${port}`;
    const firm = await startHub(
      {
        broker: { url, user: null, password: null, ca: pem(tls.authority) },
        series: null,
        data: join(folder, 'hub'),
        name: 'one',
      },
      machineClock(),
      () => undefined,
    );
    ends.push(() => firm.stop());
    await until('the hub listens', () => firm.state().joined);
    const one = rig('van-1');
    ends.push(() => one.dispose());
    one.record(2);
    const join1 = (ca: string | null) =>
      startOutbox(
        { url, user: null, password: null, ca, rig: 'van-1' },
        one.store,
        one.folder,
        machineClock(),
        'tls',
        (line) => one.said.push(line),
      );
    for (const ca of [null, pem(other.authority)]) {
      const refused = await join1(ca);
      await until('it is refused', () => refused.state.problem !== null);
      expect(refused.state.joined).toBe(false);
      await refused.stop();
      expect(one.said.at(-1)).toMatch(/cannot be reached .*certificate/);
    }
    const link = await join1(pem(tls.authority));
    ends.push(() => link.stop());
    await until('the run is there', () => link.waiting === 0 && firm.store()?.openRun(one.runId) !== null);
  });
});
