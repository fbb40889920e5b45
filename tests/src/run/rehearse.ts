import { mkdtempSync, rmSync } from 'node:fs';
import { tmpdir } from 'node:os';
import { join } from 'node:path';
import { pipeTransport } from '../../../firmware-bridge/transport/pipe.ts';
import { type SimulatedRig, startSimulatedRig } from '../../../simulators/simulate.ts';
import { createAnalysis } from '../../../src/core/analyse.ts';
import { Run } from '../../../src/run/run.ts';
import { openStore } from '../../../src/store/open.ts';
import type { Store } from '../../../src/store/store.ts';
import { SteppedClock } from './stepped-clock.ts';

/** The whole path from bytes to record, on stepped time: simulated rig, pipe, run, store. */
export interface Rehearsal {
  readonly folder: string;
  readonly clock: SteppedClock;
  readonly store: Store;
  readonly run: Run;
  /** The water itself, for what no trouble has a name for. */
  readonly rig: SimulatedRig;
  readonly faults: unknown[];
  post(event: string, emitter?: string, more?: { note?: string; agoS?: number; id?: string }): Promise<unknown>;
  fault(name: string): void;
  /** Ends the run and the store; the folder stays until `remove`. */
  close(): void;
  remove(): void;
}

export async function rehearse(seed = 1, folder = mkdtempSync(join(tmpdir(), 'limpid-run-'))): Promise<Rehearsal> {
  const clock = new SteppedClock();
  const rig = startSimulatedRig({ scenario: 'rehearsal', seed, clock });
  const store = openStore(folder);
  const current = store.currentRunId();
  const runStore =
    (current === null ? null : store.openRun(current)) ??
    store.createRun({
      runId: 'r1',
      title: rig.title,
      simulated: true,
      startedAt: '2026-01-02T03:04:05Z',
      context: rig.context,
    });
  store.setCurrentRun(runStore.head.runId);
  const faults: unknown[] = [];
  const run = new Run({
    store: runStore,
    clock,
    createAnalysis,
    source: 'the simulated rig',
    obey: (event) => rig.obey(event),
    fault: (error) => faults.push(error),
  });
  const link = pipeTransport('simulated rig', rig.peer, clock);
  await link.open({ bytes: (chunk, atS) => run.bytes(chunk, atS), state: (state) => run.transportState(state) });
  let taps = 0;
  const base = runStore.events().length;
  return {
    folder,
    clock,
    store,
    run,
    rig,
    faults,
    post: (event, emitter = '', more = {}) =>
      run.post(
        { id: more.id ?? `tap-${base}-${++taps}`, event, emitter, note: more.note ?? '', agoS: more.agoS ?? 0 },
        'loopback',
      ),
    fault: (name) => rig.fault(name),
    close: () => {
      void link.close();
      run.stop();
      store.close();
    },
    remove: () => rmSync(folder, { recursive: true, force: true }),
  };
}
