import { mkdtempSync, rmSync } from 'node:fs';
import { tmpdir } from 'node:os';
import { join } from 'node:path';
import { afterEach, describe, expect, test } from 'vitest';
import { machineClock } from '../../../src/run/clock.ts';
import { startHub } from '../../../src/run/hub.ts';
import { startOutbox } from '../../../src/run/outbox-link.ts';
import { say } from '../../../src/core/message/message.ts';
import { until } from '../../contracts/transport-clocks.ts';
import { hasMosquitto } from '../mosquitto/broker.ts';
import { tlsBroker } from '../mosquitto/tls-broker.ts';
import { difference, none } from './difference.ts';
import { rig } from './rig.ts';

const ends: (() => unknown)[] = [];
afterEach(async () => {
  for (const end of ends.splice(0).reverse()) await end();
});

describe.skipIf(!hasMosquitto())('a broker that changes its certificate', () => {
  test('by the same authority: all goes on; expired, of another name or authority: refused by rig and hub, kept, and all there after', async () => {
    const folder = mkdtempSync(join(tmpdir(), 'limpid-certificates-'));
    ends.push(() => rmSync(folder, { recursive: true, force: true }));
    const broker = await tlsBroker(folder);
    ends.push(() => broker.dispose());
    const at = { url: broker.tlsUrl, user: null, password: null, ca: broker.ca };
    const hub = await startHub(
      { broker: at, series: null, data: join(folder, 'hub'), name: 'one' },
      machineClock(),
      () => undefined,
    );
    ends.push(() => hub.stop());
    const one = rig('van-1');
    ends.push(() => one.dispose());
    const link = await startOutbox({ ...at, rig: 'van-1' }, one.store, one.folder, machineClock(), 'tls', (line) =>
      one.said.push(line),
    );
    ends.push(() => link.stop());
    const told = (): string => (link.state.problem ? say(link.state.problem) : '');
    const hubTold = (): string => hub.state().problems.map(say).join(' ');
    const isThere = (): boolean => hub.store()?.openRun(one.runId)?.linkCount() === one.run.linkCount();
    const goesOn = async (what: string): Promise<void> => {
      one.record(1);
      one.run.keepSamples();
      await until(`all is there with ${what}`, isThere, 60);
      expect(difference(hub.store()?.openRun(one.runId), one.run)).toEqual(none);
    };
    await goesOn('the first certificate');
    await broker.show(broker.good());
    await goesOn('a new one of the same authority');
    for (const [what, made, words] of broker.bad()) {
      await broker.show(made);
      one.record(1);
      one.run.keepSamples();
      await until(`the rig refuses ${what}: ${told()}`, () => words.test(told()), 30);
      await until(`the hub refuses ${what}`, () => words.test(hubTold()), 30);
      expect([link.state.joined, hub.state().joined, isThere()]).toEqual([false, false, false]);
      expect(told()).toMatch(/Nothing is lost/);
      console.log(`${what}: ${told()}`);
      await broker.show(broker.good());
      await goesOn(`a right one after ${what}`);
    }
  }, 400_000);
});
