import { existsSync, mkdtempSync, rmSync } from 'node:fs';
import { tmpdir } from 'node:os';
import { join } from 'node:path';
import { afterEach, describe, expect, test } from 'vitest';
import { sealOf } from '../../../src/recording/sealed.ts';
import { machineClock } from '../../../src/run/clock.ts';
import { type Hub, startHub } from '../../../src/run/hub.ts';
import { until } from '../../contracts/transport-clocks.ts';
import { client, hasMosquitto, mosquitto } from '../mosquitto/broker.ts';
import { rig, type Rig } from './rig.ts';
import { hasServer, influxd, type Series, victoria } from './series.ts';

const ends: (() => unknown)[] = [];
afterEach(async () => {
  for (const end of ends.splice(0).reverse()) await end();
});

function folder(): string {
  const made = mkdtempSync(join(tmpdir(), 'limpid-firm-'));
  ends.push(() => rmSync(made, { recursive: true, force: true }));
  return made;
}

async function hub(url: string, data: string, name = 'one', series: Series | null = null): Promise<Hub> {
  const broker = { url, user: null, password: null };
  const at = series ? { url: series.url, database: 'limpid', settleS: 7 } : null;
  const made = await startHub({ broker, series: at, data, name }, machineClock(), () => undefined);
  ends.push(() => made.stop());
  await until('the hub listens', () => made.state().joined);
  return made;
}

function aRig(name: string, of = name): Rig {
  const made = rig(name, of);
  ends.push(() => made.dispose());
  return made;
}

/** The firm's run is the rig's run: the same chain, the same samples. */
function sameRun(firm: Hub, from: Rig): void {
  const run = firm.store()?.openRun(from.runId);
  expect(run?.events()).toEqual(from.run.events());
  expect([...(run?.samples() ?? [])]).toEqual([...from.run.samples()]);
}

describe.skipIf(!hasMosquitto())('a firm, over a real broker', () => {
  test('gets a run while it is made, its sealed record verified, and tells the rig', async () => {
    const broker = await mosquitto();
    ends.push(() => broker.dispose());
    const data = folder();
    const firm = await hub(broker.url, data);
    const one = aRig('van-1');
    one.record(3);
    const link = await one.join(broker.url);
    await until('the first minutes are there', () => (firm.store()?.openRun(one.runId)?.linkCount() ?? 0) >= 5);
    one.record(1);
    one.seal();
    await until('the sealed record is there', () => sealOf(data, one.runId) !== null, 15);
    expect(sealOf(data, one.runId)?.state).toBe('good');
    sameRun(firm, one);
    await until('the rig knows', () => link.waiting === 0 && firm.state().waiting.links === 0);
    expect(firm.aside()).toEqual([]);
  });

  test('a hub and a broker that go away and come back lose nothing and count nothing twice', async () => {
    const broker = await mosquitto();
    ends.push(() => broker.dispose());
    const data = folder();
    const first = await startHub(
      { broker: { url: broker.url, user: null, password: null }, series: null, data, name: 'one' },
      machineClock(),
      () => undefined,
    );
    const rigs = ['van-1', 'van-2'].map((name) => aRig(name));
    for (const one of rigs) {
      one.record(4);
      await one.join(broker.url);
    }
    await until('something came', () => first.state().collected.kept > 2);
    await first.stop();
    await broker.stop();
    for (const one of rigs) one.record(2);
    await broker.start();
    const second = await hub(broker.url, data);
    for (const one of rigs) {
      one.record(1);
      one.seal();
    }
    await until('both records are there', () => rigs.every((one) => sealOf(data, one.runId)?.state === 'good'), 20);
    for (const one of rigs) sameRun(second, one);
    // All of it once more, from the beginning: nothing changes.
    const [one] = rigs;
    if (!one) throw new Error('no rig');
    const before = second.store()?.openRun(one.runId)?.events();
    await until('the rig was told', () => existsSync(join(one.folder, 'outbox.json')));
    await one.leave();
    rmSync(join(one.folder, 'outbox.json'));
    const { messages, kept } = second.state().collected;
    await one.join(broker.url);
    await until('it came again', () => second.state().collected.messages >= messages + 3);
    expect(second.state().collected.kept).toBe(kept);
    expect(second.store()?.openRun(one.runId)?.events()).toEqual(before);
  });

  test('several hubs divide the load, and one of them keeps the store', async () => {
    const broker = await mosquitto();
    ends.push(() => broker.dispose());
    const data = folder();
    const [a, b] = [await hub(broker.url, data, 'a'), await hub(broker.url, data, 'b')];
    const rigs = ['r1', 'r2', 'r3'].map((name) => aRig(name));
    for (const one of rigs) {
      one.record(6);
      await one.join(broker.url);
    }
    const firm = a.state().keeps ? a : b;
    for (const one of rigs) one.run.keepSamples();
    await until(
      'all is there',
      () => rigs.every((one) => firm.store()?.openRun(one.runId)?.linkCount() === one.run.linkCount()),
      15,
    );
    for (const one of rigs) sameRun(firm, one);
    expect([a, b].filter((h) => h.state().keeps)).toHaveLength(1);
    for (const h of [a, b]) expect(h.state().collected.kept).toBeGreaterThan(0);
  });

  test('what is wrong is set aside with its reason, and harms no other run', async () => {
    const broker = await mosquitto();
    ends.push(() => broker.dispose());
    const data = folder();
    const firm = await hub(broker.url, data);
    const good = aRig('good');
    good.record(2);
    good.run.keepSamples();
    await good.join(broker.url);
    await until(
      'the run is there',
      () => (firm.store()?.openRun(good.runId)?.linkCount() ?? 0) === good.run.linkCount(),
    );
    const foe = await client(broker.url);
    ends.push(() => foe.endAsync(true));
    await foe.publishAsync('limpid/bad/up/events', 'nonsense', { qos: 1 });
    await foe.publishAsync('limpid/bad/up/samples', Buffer.from([1, 10, 2]), { qos: 1 });
    const copied = aRig('copied', 'good');
    copied.record(1);
    await copied.join(broker.url);
    const codes = (): string[] => firm.aside().map((a) => a.why.code);
    await until(
      'all three are set aside',
      () => codes().includes('hub-other-rig') && firm.state().collected.quarantined >= 3,
    );
    expect(codes().sort()).toEqual(['hub-other-rig', 'hub-part-unreadable']);
    expect(firm.aside().find((a) => a.why.code === 'hub-part-unreadable')?.times).toBe(2);
    sameRun(firm, good);
  });

  describe.each([
    ['influxd', 'influxdb', influxd],
    ['victoria-metrics', 'victoria-metrics', victoria],
  ] as const)('with %s as the time series', (program, debian, make) => {
    test.skipIf(!hasServer(program, debian))('every sample is there once, after the server was killed', async () => {
      const [broker, series] = [await mosquitto(), await make()];
      ends.push(
        () => broker.dispose(),
        () => series.dispose(),
      );
      const firm = await hub(broker.url, folder(), 'one', series);
      const one = aRig('van-1');
      one.record(3);
      await one.join(broker.url);
      await until('the first are written', () => (firm.state().series?.chunks ?? 0) >= 2, 15);
      await series.stop();
      one.record(3);
      await until('the server is missed', () => (firm.state().series?.failures ?? 0) > 0, 15);
      await series.start();
      one.run.keepSamples();
      const isThere = (): boolean => firm.store()?.openRun(one.runId)?.linkCount() === one.run.linkCount();
      await until('all is written', () => isThere() && firm.state().waiting.unwritten === 0, 20);
      expect(await series.rows('van-1')).toBe([...one.run.samples()].length);
    });
  });
});
