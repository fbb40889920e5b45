import { appendFileSync, mkdtempSync, rmSync } from 'node:fs';
import { tmpdir } from 'node:os';
import { join } from 'node:path';
import { sealedFolder, sealRun } from '../../src/recording/sealed.ts';
import { type Afterwards, openAfterwards } from '../../src/run/afterwards/afterwards.ts';
import { createLooker } from '../../src/run/afterwards/look-work.ts';
import { type RunningServer, startServer } from '../../src/server/app.ts';
import { openStore } from '../../src/store/open.ts';
import type { RunStore, Store } from '../../src/store/store.ts';
import { type DemoRun, demoRun } from '../src/report/demo-run.ts';
import { createFakeBridge } from '../src/server/fake-bridge.ts';

/** An office with a handful of simulated runs: sealed, unsigned, and one that was touched after it was sealed. */
export interface OfficeWorld {
  readonly data: string;
  readonly store: Store;
  readonly audit: Afterwards;
  readonly server: RunningServer;
  stop(): Promise<void>;
}

const engineers = ['A. Engineer', 'B. Fitter', 'C. Heating'];
const sites = [
  '7 Example Row, Sampleton',
  '12 Sample Lane, Exampleby',
  'Mill House, Sampleton',
  '3 Test Court, Exampleby',
];

export interface WorldOptions {
  readonly runs?: number;
  readonly port?: number;
  readonly host?: string;
  /** Data folder to use and keep. */
  readonly data?: string;
  readonly nowMs?: () => number;
}

/** One demo run in the store, as a bridge would have kept it. */
export function keepDemo(store: Store, runId: string, demo: DemoRun, startedAt: string): RunStore {
  const run = store.createRun({
    runId,
    title: typeof demo.context['site'] === 'string' ? demo.context['site'] : runId,
    simulated: true,
    startedAt,
    context: { ...demo.context, run_id: runId, started_at: startedAt },
  });
  const wallAt = (timeS: number): string => new Date(Date.parse(startedAt) + timeS * 1000).toISOString();
  let next = 0;
  const tell = (untilS: number): void => {
    for (let e = demo.events[next]; e && e.timeS <= untilS; e = demo.events[next]) {
      const who = e.event === 'kit-hello' || e.event === 'calibrated' ? 'kit' : 'device-1a2b3c4d';
      run.appendEvent({ id: `demo-${next}`, event: e, who, wallAt: wallAt(e.timeS) });
      next += 1;
    }
  };
  for (const [i, sample] of demo.samples.entries()) {
    tell(sample.timeS);
    run.appendSample(sample);
    if (i % 3000 === 0) run.flush();
  }
  tell(Number.POSITIVE_INFINITY);
  run.keepSamples();
  return run;
}

const families = ['rinse', 'ordinary', 'echo', 'gap', 'two-open'];

function demoOf(i: number): DemoRun {
  const family = families[i % families.length] ?? 'rinse';
  let demo: DemoRun;
  try {
    demo = demoRun(family, 8 + i);
  } catch {
    demo = demoRun('rinse', 8 + i);
  }
  const engineer = engineers[i % engineers.length] ?? '';
  const site = sites[i % sites.length] ?? '';
  return {
    ...demo,
    context: { ...demo.context, site },
    // A photo is a file of its own, which is not made here.
    events: demo.events
      .filter((e) => e.event !== 'photo')
      .map((e) => (e.event === 'hand-over' ? { ...e, data: { engineer, client: 'B. Client', site } } : e)),
  };
}

export async function officeWorld(options: WorldOptions = {}): Promise<OfficeWorld> {
  const data = options.data ?? mkdtempSync(join(tmpdir(), 'limpid-office-'));
  const store = openStore(data);
  const nowMs = options.nowMs ?? Date.now;
  for (let i = 0; i < (options.runs ?? 4); i++) {
    const startedAt = new Date(Date.UTC(2026, i % 6, 4 + (i % 20), 8, 5)).toISOString();
    const runId = `run-${startedAt.slice(0, 10).replaceAll('-', '')}-${String(i + 1).padStart(4, '0')}`;
    if (store.openRun(runId)) continue;
    const run = keepDemo(store, runId, demoOf(i), startedAt);
    if (i % 3 === 2) continue;
    sealRun(data, run, { by: engineers[i % 3] ?? '', who: 'bridge', timeS: run.lastTimeS(), wallAt: startedAt });
    if (i === 1) appendFileSync(join(sealedFolder(data, runId), 'events.csv'), '9000,note,,added later\n');
  }
  const audit = openAfterwards({ data, store, looker: createLooker(), wallMs: nowMs, log: () => {} });
  const server = await startServer({
    host: options.host ?? '127.0.0.1',
    port: options.port ?? 0,
    bridge: createFakeBridge(),
    audit,
    webRoot: process.env['LIMPID_WEB'] ?? 'dist/web',
    pairing: { code: '123456' },
    dataFolder: data,
  });
  return {
    data,
    store,
    audit,
    server,
    async stop() {
      await server.close();
      await audit.stop();
      store.close();
      if (options.data === undefined) rmSync(data, { recursive: true, force: true });
    },
  };
}
