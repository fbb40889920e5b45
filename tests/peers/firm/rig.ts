import { mkdtempSync, rmSync } from 'node:fs';
import { tmpdir } from 'node:os';
import { join } from 'node:path';
import { emptySample } from '../../../src/core/quantity/sample.ts';
import { sealRun } from '../../../src/recording/sealed.ts';
import { machineClock } from '../../../src/run/clock.ts';
import { type OutboxLink, startOutbox } from '../../../src/run/outbox-link.ts';
import { openStore } from '../../../src/store/open.ts';
import type { RunHead, RunStore, Store } from '../../../src/store/store.ts';

/** A rig's bridge, as far as the firm sees it: a store with a run in it, and the way out. */
export interface Rig {
  readonly name: string;
  readonly folder: string;
  readonly store: Store;
  readonly run: RunStore;
  readonly runId: string;
  /** What it says when the way out is open or not. */
  readonly said: string[];
  /** `minutes` of samples at 10 Hz and a note for each; values are told by rig and time. */
  record(minutes: number): void;
  seal(): void;
  join(url: string, login?: { user: string; password: string }): Promise<OutboxLink>;
  leave(): Promise<void>;
  /** The process ends without a word and comes back. */
  dispose(): Promise<void>;
}

export function headOf(name: string): RunHead {
  return {
    runId: `run-20260102-0304-${name}`,
    title: `Clean of ${name}`,
    simulated: true,
    startedAt: '2026-01-02T03:04:00.000Z',
    context: {
      emitters: [{ id: 'e1', name: 'Hall', volume_l: 8 }],
      loop_volume_l: 90,
      return_volume_l: 6,
      mains: { turbidity_ntu: 0.5, conductivity_us_cm: 400 },
      sample_hz: 10,
      run_id: `run-20260102-0304-${name}`,
    },
  };
}

/** `of`: a rig whose data folder was copied from another has that one's runs. */
export function rig(name: string, of = name): Rig {
  const folder = mkdtempSync(join(tmpdir(), `limpid-rig-${name}-`));
  const store = openStore(folder);
  const run = store.createRun(headOf(of));
  const { runId } = run.head;
  let atS = 0;
  let link: OutboxLink | null = null;
  const said: string[] = [];
  const made: Rig = {
    name,
    folder,
    store,
    run,
    runId,
    said,
    record(minutes) {
      for (let m = 0; m < minutes; m++) {
        for (let i = 0; i < 600; i++) {
          atS = Math.round((atS + 0.1) * 10) / 10;
          run.appendSample({ ...emptySample(atS), turbidityNtu: Math.round(atS) % 97, flowLpm: 8, pressureBar: 1 });
        }
        const event = { timeS: atS, event: 'note', emitter: '', note: `minute ${m}`, data: {} };
        run.appendEvent({ id: `note-${run.linkCount()}`, event, who: 'test', wallAt: '2026-01-02T03:04:00.000Z' });
        run.flush();
      }
    },
    seal() {
      sealRun(folder, run, { by: 'A. Engineer', who: 'test', timeS: atS, wallAt: '2026-01-02T04:00:00.000Z' });
    },
    async join(url, login) {
      const broker = { url, user: login?.user ?? null, password: login?.password ?? null, ca: null, rig: name };
      link = await startOutbox(broker, store, folder, machineClock(), `t${name}`, (line) => said.push(line));
      return link;
    },
    async leave() {
      await link?.stop();
      link = null;
    },
    async dispose() {
      await made.leave();
      store.close();
      rmSync(folder, { recursive: true, force: true });
    },
  };
  return made;
}
