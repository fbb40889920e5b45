import { join } from 'node:path';
import { exportOne, exportZip } from '../../../src/recording/bulk.ts';
import { sealRun } from '../../../src/recording/sealed.ts';
import { rotateKey } from '../../../src/recording/signing-key.ts';
import { backUp, restoreBackup } from '../../../src/run/backup.ts';
import { machineClock } from '../../../src/run/clock.ts';
import { openStore } from '../../../src/store/open.ts';
import type { RunStore, Store } from '../../../src/store/store.ts';

interface Place {
  readonly data: string;
  readonly to: string;
  /** Addresses of broker and time series, where the work needs them. */
  readonly more: readonly string[];
}

function withRun(data: string, then: (run: RunStore, store: Store) => void): void {
  const store = openStore(data);
  const head = store.runs()[0];
  const run = head && store.openRun(head.runId);
  if (!run) throw new Error('no run');
  then(run, store);
  store.close();
}

const ended = (): Promise<unknown> => new Promise((resolve) => process.once('SIGTERM', resolve));

const sealing = { by: 'A. Engineer', who: 'test', timeS: 120, wallAt: '2026-01-02T04:00:00.000Z' };

/** Pieces of writing by name. */
const works: Record<string, (place: Place) => unknown> = {
  backup: ({ data, to }) => withRun(data, (_, store) => void backUp(store, data, to, '2026-01-02T05:00:00.000Z')),
  restore: ({ data, to }) => restoreBackup(to, data),
  seal: ({ data }) => withRun(data, (run) => void sealRun(data, run, sealing)),
  export: ({ data, to }) => withRun(data, (run) => void exportOne(data, run, to)),
  'export-zip': ({ data, to }) => withRun(data, (run) => exportZip(data, run, `${to}.zip`)),
  migrate: ({ data }) => openStore(data).close(),
  'new-key': ({ data }) => rotateKey(data),
  async hub({ data, more: [url = '', series = ''] }) {
    const { startHub } = await import('../../../src/run/hub.ts');
    const broker = { url, user: null, password: null };
    const at = { url: series, database: 'limpid', settleS: 1 };
    const hub = await startHub({ broker, series: at, data, name: 'one' }, machineClock(), () => undefined);
    await ended();
    await hub.stop();
  },
  async outbox({ data, more: [url = '', rig = ''] }) {
    const { startOutbox } = await import('../../../src/run/outbox-link.ts');
    const store = openStore(data);
    const outlet = { url, user: null, password: null, ca: null, rig };
    const link = await startOutbox(outlet, store, data, machineClock(), rig, () => undefined);
    await ended();
    await link.stop();
    store.close();
  },
};

export async function doWork(name: string, folder: string, more: readonly string[]): Promise<void> {
  await works[name]?.({ data: join(folder, 'data'), to: join(folder, 'to'), more });
}
