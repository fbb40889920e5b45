import { mkdtempSync, rmSync } from 'node:fs';
import { tmpdir } from 'node:os';
import { join } from 'node:path';
import { afterEach, describe, expect, test } from 'vitest';
import { sealOf } from '../../../src/recording/sealed.ts';
import { machineClock } from '../../../src/run/clock.ts';
import { startHub } from '../../../src/run/hub.ts';
import { until } from '../../contracts/transport-clocks.ts';
import { hasMosquitto, mosquitto } from '../mosquitto/broker.ts';
import { badLink } from './bad-link.ts';
import { rig } from './rig.ts';

const ends: (() => unknown)[] = [];
afterEach(async () => {
  for (const end of ends.splice(0).reverse()) await end();
});

describe.skipIf(!hasMosquitto())('a link from a cellar', () => {
  test('slow, late, cut again and again, and silent without a word: the run arrives whole, the live path feels nothing', async () => {
    const broker = await mosquitto();
    ends.push(() => broker.dispose());
    const link = await badLink(broker.port);
    ends.push(() => link.close());
    const data = mkdtempSync(join(tmpdir(), 'limpid-bad-link-'));
    ends.push(() => rmSync(data, { recursive: true, force: true }));
    const firm = await startHub(
      { broker: { url: broker.url, user: null, password: null }, series: null, data, name: 'one' },
      machineClock(),
      () => undefined,
    );
    ends.push(() => firm.stop());
    await until('the hub listens', () => firm.state().joined);
    const one = rig('van-1');
    ends.push(() => one.dispose());
    one.record(20);
    Object.assign(link.link, { delayMs: 40, bytesPerS: 60_000 });
    const out = await one.join(`mqtt://127.0.0.1:${link.port}`);
    let cuts = 0;
    let slowestMs = 0;
    for (let round = 0; round < 8; round++) {
      await new Promise((resolve) => setTimeout(resolve, 1500));
      if (round === 4) {
        // Nothing comes and nothing goes, and no side is told; the keep-alive finds out.
        link.link.hole = true;
        await until('the silence is found out', () => !out.state.joined, 60);
        link.link.hole = false;
      }
      cuts += link.cut();
      // The live path: an event is on the disk at once, whatever the link does.
      const before = performance.now();
      one.record(1);
      slowestMs = Math.max(slowestMs, performance.now() - before);
    }
    one.seal();
    expect(cuts).toBeGreaterThan(3);
    await until('the sealed record is there', () => sealOf(data, one.runId)?.state === 'good', 200);
    const run = firm.store()?.openRun(one.runId);
    expect(run?.events()).toEqual(one.run.events());
    expect([...(run?.samples() ?? [])]).toEqual([...one.run.samples()]);
    expect(firm.aside()).toEqual([]);
    console.log(
      `cut ${cuts} times; longest minute kept in ${slowestMs.toFixed(0)} ms; lost 0 of ${one.run.linkCount()} entries`,
    );
  }, 400_000);
});
