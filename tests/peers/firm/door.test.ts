import { mkdtempSync, rmSync } from 'node:fs';
import { tmpdir } from 'node:os';
import { join } from 'node:path';
import { afterEach, describe, expect, test } from 'vitest';
import { z } from 'zod';
import { HubDoor } from '../../../src/cli/hub-door.ts';
import { machineClock } from '../../../src/run/clock.ts';
import { type Hub, startHub } from '../../../src/run/hub.ts';
import { readHubConfig } from '../../../src/run/hub-config.ts';
import { until } from '../../contracts/transport-clocks.ts';
import { freePort, hasMosquitto, mosquitto } from '../mosquitto/broker.ts';
import { rig } from './rig.ts';

const ends: (() => unknown)[] = [];
afterEach(async () => {
  for (const end of ends.splice(0).reverse()) await end();
});

interface Running {
  readonly hub: Hub;
  readonly door: HubDoor;
  readonly url: string;
  stop(): Promise<void>;
}

async function running(broker: string, data: string, name: string): Promise<Running> {
  const config = readHubConfig({ broker, data, name, port: String(await freePort()) }, {});
  const door = new HubDoor({ config, usual: 8490, https: null, webRoot: 'dist/web', say: () => undefined });
  const hub = await startHub(config, machineClock(), () => undefined, { keeps: (store) => door.opens(store) });
  const url = await door.listen(hub);
  let isUp = true;
  const stop = async (): Promise<void> => {
    if (!isUp) return;
    isUp = false;
    await door.close();
    await hub.stop();
  };
  ends.push(stop);
  return { hub, door, url, stop };
}

const list = z.object({ rows: z.array(z.object({ runId: z.string() })) });
const status = (url: string): Promise<number> =>
  fetch(url, { redirect: 'manual' }).then(
    (reply) => reply.status,
    () => 0,
  );

describe.skipIf(!hasMosquitto())('what a hub shows', () => {
  test('is the office’s page with the runs of all rigs, and another process takes it over', async () => {
    const broker = await mosquitto();
    ends.push(() => broker.dispose());
    const data = mkdtempSync(join(tmpdir(), 'limpid-door-'));
    ends.push(() => rmSync(data, { recursive: true, force: true }));
    const first = await running(broker.url, data, 'one');
    const second = await running(broker.url, data, 'two');
    const rigs = ['van-1', 'van-2'].map((name) => rig(name));
    for (const one of rigs) {
      ends.push(() => one.dispose());
      one.record(2);
      await one.join(broker.url);
    }
    await until('both runs are there', () => rigs.every((one) => first.hub.store()?.openRun(one.runId) !== null));
    const shown = list.parse(await (await fetch(`${first.url}/api/runs`)).json());
    expect(shown.rows.map((row) => row.runId).sort()).toEqual(rigs.map((one) => one.runId).sort());
    expect(await status(`${first.url}/`)).toBe(302);
    expect(await status(`${first.url}/api/view`)).toBe(404);
    expect(await (await fetch(`${first.url}/metrics`)).text()).toContain('limpid_hub_keeps 1');
    // The second collects, and has no page of the runs.
    expect(await status(`${second.url}/api/runs`)).toBe(404);
    expect(await status(`${second.url}/health`)).toBe(200);
    await first.stop();
    let taken = 0;
    void (async () => {
      while (taken !== 200) {
        taken = await status(`${second.url}/api/runs`);
        await new Promise((resolve) => setTimeout(resolve, 100));
      }
    })();
    await until('the second shows them', () => taken === 200, 20);
    expect(list.parse(await (await fetch(`${second.url}/api/runs`)).json()).rows).toHaveLength(2);
  });
});
