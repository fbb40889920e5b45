import { mkdtempSync, rmSync } from 'node:fs';
import { tmpdir } from 'node:os';
import { join } from 'node:path';
import { describe, expect, it } from 'vitest';
import { startSimulatedRig } from '../../../simulators/simulate.ts';
import { pipeTransport } from '../../../firmware-bridge/transport/pipe.ts';
import { createAnalysis } from '../../../src/core/analyse.ts';
import { Run } from '../../../src/run/run.ts';
import { startServer } from '../../../src/server/app.ts';
import { runViewSchema, traceAnswerSchema } from '../../../src/server/protocol.ts';
import { openStore } from '../../../src/store/open.ts';
import { SteppedClock } from '../../src/run/stepped-clock.ts';
import { avrHex, noAvr } from './build.ts';

describe.skipIf(noAvr)(`the demo through the very firmware${noAvr ? ` (${noAvr})` : ''}`, () => {
  it('brings to the page what the water does, within quantisation', async () => {
    const folder = mkdtempSync(join(tmpdir(), 'limpid-demo-'));
    const clock = new SteppedClock();
    const rig = startSimulatedRig({ scenario: 'rehearsal', seed: 3, clock, hex: avrHex() });
    const store = openStore(folder);
    const { context, title } = rig;
    const head = { runId: 'r1', title, simulated: true, startedAt: '2026-01-02T03:04:05Z', context };
    const fault = (error: unknown): void => {
      throw error;
    };
    const run = new Run({ store: store.createRun(head), clock, createAnalysis, source: 'firmware', fault });
    const transport = pipeTransport('firmware', rig.peer, clock);
    await transport.open({ bytes: (b, atS) => run.bytes(b, atS), state: (s) => run.transportState(s) });
    const server = await startServer({
      host: '127.0.0.1',
      port: 0,
      bridge: run,
      webRoot: '/nonexistent',
      pairing: { code: '123456' },
    });
    const truth: { ntu: number; lpm: number; bar: number; supplyC: number; returnC: number }[] = [];
    for (let i = 0; i < 200; i++) {
      clock.run(0.1);
      const s = rig.sensors.read(rig.rig);
      truth.push({
        ntu: s.turbidityNtu ?? Number.NaN,
        lpm: s.flowLpm ?? Number.NaN,
        bar: s.pressureBar ?? Number.NaN,
        supplyC: s.supplyC ?? Number.NaN,
        returnC: s.returnC ?? Number.NaN,
      });
    }
    const get = async (path: string): Promise<unknown> => (await fetch(`${server.url}${path}`)).json();
    const view = runViewSchema.parse(await get('/api/view'));
    const { rows } = traceAnswerSchema.parse(await get('/api/trace'));
    expect(view.links.find((l) => l.id === 'sensor')?.state).toBe('ok');
    expect(view.counters.filter((c) => c.code !== 'firstPartial')).toEqual([]);
    const mean = (values: readonly number[]): number => values.reduce((a, b) => a + b, 0) / values.length;
    const last = rows.slice(-100);
    const column = (i: number): number => mean(last.map((row) => row[i]).filter((v): v is number => v !== null));
    const water = truth.slice(-100);
    // Steps: 4.9 NTU, 12 mbar by the default lines; the flow is a count of pulses at 450 a litre; thermometers 1/16 °C.
    expect(Math.abs(column(1) - mean(water.map((t) => t.ntu)))).toBeLessThan(4.9);
    expect(Math.abs(column(2) - mean(water.map((t) => t.lpm)))).toBeLessThan(0.5);
    expect(Math.abs(column(3) - mean(water.map((t) => t.bar)))).toBeLessThan(0.013);
    expect(Math.abs(column(4) - mean(water.map((t) => t.supplyC)))).toBeLessThan(0.2);
    expect(Math.abs(column(5) - mean(water.map((t) => t.returnC)))).toBeLessThan(0.2);
    expect(
      store
        .openRun('r1')
        ?.events()
        .map((e) => e.event.event),
    ).toContain('kit-hello');
    await server.close();
    await transport.close();
    run.stop();
    store.close();
    rmSync(folder, { recursive: true, force: true });
  });
});
