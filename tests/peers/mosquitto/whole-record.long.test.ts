import { mkdtempSync, rmSync } from 'node:fs';
import { tmpdir } from 'node:os';
import { join } from 'node:path';
import { afterEach, describe, expect, test } from 'vitest';
import { encodePack } from '../../../firmware-bridge/wire/encode.ts';
import { kitTopic } from '../../../firmware-bridge/wire/topics.ts';
import { exportRun, readRecording, verifyRecording } from '../../../src/recording/recording.ts';
import { startBridge } from '../../../src/run/bridge.ts';
import { readConfig } from '../../../src/run/config.ts';
import { openStore } from '../../../src/store/open.ts';
import { until } from '../../contracts/transport-clocks.ts';
import { client, hasMosquitto, mosquitto } from './broker.ts';

const kit = 'urn:dev:mac:0024befffe804ff1';
const ends: (() => unknown)[] = [];
afterEach(async () => {
  for (const end of ends.splice(0).reverse()) await end();
});

const wait = (seconds: number): Promise<unknown> => new Promise((resolve) => setTimeout(resolve, seconds * 1000));

describe.skipIf(!hasMosquitto())('a broker that is restarted in the midst of a run', () => {
  for (const protocolVersion of [5, 4] as const)
    test(`MQTT ${protocolVersion === 5 ? '5' : '3.1.1'} kit: the exported record holds each pack once, at its own time`, async () => {
      const broker = await mosquitto();
      ends.push(() => broker.dispose());
      const data = mkdtempSync(join(tmpdir(), 'limpid-whole-'));
      ends.push(() => rmSync(data, { recursive: true, force: true }));
      const bridge = await startBridge(readConfig({ mqtt: broker.url, data }, {}), () => undefined);
      let refetches = 0;
      bridge.port.listen((message) => {
        if (message.type === 'refetch') refetches++;
      });
      const far = await client(broker.url, { clientId: 'mac:0024befffe804ff1', protocolVersion });
      ends.push(() => far.endAsync(true));

      // The seq of a pack is its reading, so that the record can be counted by it.
      const zeroMs = performance.now();
      const madeS: number[] = [];
      const acknowledged: Promise<unknown>[] = [];
      const beat = setInterval(() => {
        const seq = madeS.length;
        const upS = (performance.now() - zeroMs) / 1000;
        madeS.push(upS);
        const pack = encodePack({ kit, boot: 1, seq, upS, values: { turbidityNtu: seq, flowLpm: 12 } });
        acknowledged.push(far.publishAsync(kitTopic(kit, 'senml'), pack, { qos: 1 }));
      }, 50);
      ends.push(() => clearInterval(beat));
      await wait(1.5);
      await broker.stop();
      await wait(3);
      await broker.start();
      await wait(1.5);
      // Once more, while the kit goes on: what it had kept comes a second time, as `late`.
      const again = madeS.slice(0, 20).map((upS, seq) => {
        const pack = encodePack({ kit, boot: 1, seq, upS, late: true, values: { turbidityNtu: seq, flowLpm: 12 } });
        return far.publishAsync(kitTopic(kit, 'senml'), pack, { qos: 1 });
      });
      await wait(1);
      clearInterval(beat);
      await Promise.all([...acknowledged, ...again]);
      const shown = (): number[] => bridge.port.trace(0, 1e9).rows.flatMap((row) => row[1] ?? []);
      await until('all are shown', () => shown().length >= madeS.length, 20);
      expect(shown()).toEqual(madeS.map((_, seq) => seq));
      await until('the pages are told', () => refetches > 0, 10);
      await bridge.stop();

      const folder = join(data, 'export');
      const store = openStore(data);
      const run = store.openRun(store.currentRunId() ?? '');
      if (run) exportRun(run, folder);
      store.close();
      expect(verifyRecording(folder)).toMatchObject({ sound: true, faults: [] });
      const record = readRecording(folder);
      const all = [...record.samples, ...record.late].sort((a, b) => a.timeS - b.timeS);
      expect(all.map((s) => s.turbidityNtu)).toEqual(madeS.map((_, seq) => seq));
      expect(record.late.length).toBeGreaterThan(30);
      // Each at its own time: half a second is bridged, the rest is what a busy machine takes.
      const offsets = all.map((s, i) => s.timeS - (madeS[i] ?? 0)).sort((a, b) => a - b);
      expect((offsets.at(-1) ?? 0) - (offsets[0] ?? 0)).toBeLessThan(1.5);
    }, 60_000);
});
