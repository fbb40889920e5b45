import { mkdtempSync, rmSync } from 'node:fs';
import { tmpdir } from 'node:os';
import { join } from 'node:path';
import { pipeTransport } from '../../firmware-bridge/transport/pipe.ts';
import { VirtualKit } from '../../simulators/kit/virtual-kit.ts';
import { createAnalysis } from '../../src/core/analyse.ts';
import { emptySample } from '../../src/core/quantity/sample.ts';
import { Calibration } from '../../src/run/calibration.ts';
import { machineClock } from '../../src/run/clock.ts';
import { KitBench } from '../../src/run/kit-bench.ts';
import { KitLink } from '../../src/run/kit-link.ts';
import { Run } from '../../src/run/run.ts';
import { type RunningServer, startServer } from '../../src/server/app.ts';
import { openStore } from '../../src/store/open.ts';
import type { Store } from '../../src/store/store.ts';
import { context } from '../src/core/job/job-cases.ts';

/** A bridge with a kit on the bench: what its sensors are dipped in is set by `water`. */
export interface KitWorld {
  readonly server: RunningServer;
  readonly store: Store;
  readonly kit: VirtualKit;
  readonly water: { turbidityNtu: number | null; flowLpm: number; pressureBar: number };
  stop(): Promise<void>;
}

export async function kitWorld(speed = 1): Promise<KitWorld> {
  const folder = mkdtempSync(join(tmpdir(), 'limpid-bench-'));
  const clock = machineClock(speed);
  const water: KitWorld['water'] = { turbidityNtu: 0.2, flowLpm: 9.5, pressureBar: 0.03 };
  let at = 0;
  const kit = new VirtualKit({
    kit: 'urn:dev:mac:0200000000000007',
    clock,
    rateHz: 10,
    seed: 'bench',
    channels: {
      turbidity: { lo: 0, hi: 4000, step: 1 },
      flow: { lo: 0, hi: 60, step: 0.01 },
      pressure: { hi: 10 },
      't-supply': { lo: -20, hi: 110, step: 0.0625 },
      't-return': { lo: -20, hi: 110, step: 0.0625 },
    },
    pressed: () => false,
    // The sensor gives 0.62 V in clean water and a volt for 800 NTU; the kit thinks 0.5 V and 1000.
    measure: () => {
      at += 1;
      const noise = 0.4 * Math.sin(at * 12.9898);
      const volts = water.turbidityNtu === null ? null : 0.62 + (water.turbidityNtu + noise) / 800;
      const turbidityNtu = volts === null ? null : Math.round(10 * (volts - 0.5) * 1000) / 10;
      return { ...emptySample(at), ...water, turbidityNtu, supplyC: 54.75, returnC: 47.5 + 0.0625 * (at % 2) };
    },
    raw: (sample): Record<string, number> =>
      sample.turbidityNtu === null ? {} : { turbidity: Math.round((0.5 + sample.turbidityNtu / 1000) * 1e5) / 1e5 },
  });
  const store = openStore(folder);
  const runStore = store.createRun({
    runId: 'r1',
    title: 'Bench',
    simulated: true,
    startedAt: '2026-01-02T03:04:05Z',
    context,
  });
  const fault = (error: unknown): void => {
    throw error;
  };
  const calibration = new Calibration(store);
  const transport = pipeTransport('bench', kit, clock);
  const link = new KitLink({
    source: 'the kit on /dev/ttyUSB0',
    clock,
    counters: () => run.hearing,
    problem: () => run.linkProblem,
    send: (bytes, to) => transport.send(bytes, to),
  });
  const run = new Run({
    store: runStore,
    clock,
    createAnalysis,
    calibration,
    heard: (decoded, atS) => link.watch.take(decoded, atS),
    source: link.source,
    fault,
  });
  const bench = new KitBench({
    link,
    store,
    calibration,
    recalibrated: () => run.recalibrated(),
    leading: () => run.leadingKit,
    fault,
  });
  await transport.open({ bytes: (chunk, atS) => run.bytes(chunk, atS), state: (state) => run.transportState(state) });
  const server = await startServer({
    host: '127.0.0.1',
    port: 0,
    bridge: run,
    bench,
    webRoot: process.env['LIMPID_WEB'] ?? 'dist/web',
    pairing: { code: '123456' },
  });
  return {
    server,
    store,
    kit,
    water,
    async stop() {
      await server.close();
      await transport.close();
      run.stop();
      store.close();
      rmSync(folder, { recursive: true, force: true });
    },
  };
}
