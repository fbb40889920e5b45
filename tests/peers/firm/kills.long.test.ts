import { type ChildProcess, spawn } from 'node:child_process';
import { mkdtempSync, rmSync } from 'node:fs';
import { tmpdir } from 'node:os';
import { join } from 'node:path';
import { afterEach, describe, expect, test } from 'vitest';
import { sealOf } from '../../../src/recording/sealed.ts';
import { Arrivals } from '../../../src/store/arrivals.ts';
import { openStore } from '../../../src/store/open.ts';
import { until } from '../../contracts/transport-clocks.ts';
import { generator } from '../../faults/generator.ts';
import { freePort, hasMosquitto, mosquitto } from '../mosquitto/broker.ts';
import { placeOf } from '../steps/firm.ts';
import { difference, none } from './difference.ts';
import { type Rig, rig } from './rig.ts';
import { hasServer, influxd } from './series.ts';

const ends: (() => unknown)[] = [];
afterEach(async () => {
  for (const end of ends.splice(0).reverse()) await end();
});

/** A hub in a process of its own, as it is run. */
async function startHub(data: string, broker: string, series: string, name: string): Promise<ChildProcess> {
  const port = await freePort();
  const child = spawn(
    'node',
    [
      'dist/limpid.js',
      'hub',
      '--broker',
      broker,
      '--series',
      series,
      '--data',
      data,
      '--name',
      name,
      '--port',
      String(port),
    ],
    { stdio: ['ignore', 'pipe', 'pipe'] },
  );
  let said = '';
  child.stdout.on('data', (chunk: Buffer) => {
    said += chunk.toString();
  });
  child.stderr.on('data', (chunk: Buffer) => {
    said += chunk.toString();
  });
  await until(`the hub is up (${said})`, () => said.includes('/metrics'), 40);
  return child;
}

async function killed(child: ChildProcess): Promise<void> {
  if (child.exitCode !== null || child.signalCode !== null) return;
  const ended = new Promise((resolve) => child.once('exit', resolve));
  child.kill('SIGKILL');
  await ended;
}

describe.skipIf(!hasMosquitto() || !hasServer('influxd', 'influxdb'))('a firm whose every part is killed', () => {
  test('has every run, entry, sample and seal in the end, once', async () => {
    const data = mkdtempSync(join(tmpdir(), 'limpid-firm-kills-'));
    ends.push(() => rmSync(data, { recursive: true, force: true }));
    const [broker, series] = [await mosquitto(), await influxd()];
    ends.push(
      () => broker.dispose(),
      () => series.dispose(),
    );
    const rigs = ['van-1', 'van-2', 'van-3'].map((name) => rig(name));
    for (const one of rigs) {
      ends.push(() => one.dispose());
      await one.join(broker.url);
    }
    const random = generator(5);
    const hubs = new Map<string, ChildProcess>();
    ends.push(async () => {
      for (const child of hubs.values()) await killed(child);
    });
    const names = ['a', 'b'];
    for (const name of names) hubs.set(name, await startHub(data, broker.url, series.url, name));
    const kills = { hub: 0, broker: 0, series: 0, rig: 0 };
    for (let round = 0; round < 14; round++) {
      for (const one of rigs) one.record(1);
      await new Promise((resolve) => setTimeout(resolve, 300 + 1200 * random()));
      const which = random();
      if (which < 0.5) {
        const name = names[Math.floor(random() * 2)] ?? 'a';
        const child = hubs.get(name);
        if (child) await killed(child);
        hubs.set(name, await startHub(data, broker.url, series.url, name));
        kills.hub += 1;
      } else if (which < 0.7) {
        await broker.kill();
        await broker.start();
        kills.broker += 1;
      } else if (which < 0.85) {
        await series.stop();
        await series.start();
        kills.series += 1;
      } else {
        // The rig's process ends and comes back: its way out begins anew from what the firm told.
        const one = rigs[Math.floor(random() * 3)];
        await one?.leave();
        await one?.join(broker.url);
        kills.rig += 1;
      }
    }
    for (const one of rigs) one.seal();
    await until(
      'every sealed record is there',
      () => rigs.every((one) => sealOf(data, one.runId)?.state === 'good'),
      300,
    );
    let rows = 0;
    for (const one of rigs) {
      const expected = [...one.run.samples()].length;
      let found = -1;
      const endAt = Date.now() + 180_000;
      while (found !== expected && Date.now() < endAt) {
        found = await series.rows(one.name).catch(() => -1);
        await new Promise((resolve) => setTimeout(resolve, 500));
      }
      expect(found).toBe(expected);
      rows += found;
    }
    const told = (one: Rig): number => placeOf(one.folder)[one.runId]?.links ?? 0;
    await until('the rigs know', () => rigs.every((one) => told(one) === one.run.linkCount()), 60);
    for (const child of hubs.values()) await killed(child);
    const sum = (count: (one: Rig) => number): number => rigs.reduce((n, one) => n + count(one), 0);
    const made = sum((one) => one.run.linkCount());
    const samples = sum((one) => [...one.run.samples()].length);
    const arrivals = new Arrivals(data);
    expect(arrivals.aside()).toEqual([]);
    expect(arrivals.waiting()).toMatchObject({ links: 0, unplaced: 0 });
    const arrived = arrivals.runs();
    arrivals.close();
    const store = openStore(data);
    for (const one of rigs) expect(difference(store.openRun(one.runId), one.run)).toEqual(none);
    const kept = sum((one) => store.openRun(one.runId)?.linkCount() ?? 0);
    store.close();
    expect(arrived.map(({ record }) => record)).toEqual(rigs.map(() => 'kept'));
    // Lost on the way, place by place: what the rigs were told, what arrived, what is in the store, what is in the series.
    const lost = {
      told: made - sum(told),
      arrivals: made - arrived.reduce((n, { links }) => n + links, 0),
      store: made - kept,
      series: samples - rows,
    };
    expect(lost).toEqual({ told: 0, arrivals: 0, store: 0, series: 0 });
    console.log(
      `killed: ${JSON.stringify(kills)}; lost of ${made} entries and ${samples} samples: ${JSON.stringify(lost)}`,
    );
  }, 600_000);
});
