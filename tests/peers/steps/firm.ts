import { cpSync, existsSync, mkdtempSync, readFileSync, rmSync } from 'node:fs';
import { tmpdir } from 'node:os';
import { join } from 'node:path';
import { z } from 'zod';
import { verifyChain } from '../../../src/core/seal/verify.ts';
import { sealOf } from '../../../src/recording/sealed.ts';
import { openStore } from '../../../src/store/open.ts';
import { sha256 } from '../../../src/store/rows.ts';
import { type Rig, rig } from '../firm/rig.ts';
import type { Series } from '../firm/series.ts';
import type { Mosquitto } from '../mosquitto/broker.ts';
import { startWork, type Worker } from './die.ts';
import type { Death } from './watch.ts';

const placeSchema = z.record(z.string(), z.object({ links: z.number(), record: z.string() }));
/** How far the firm has a rig's runs, as the rig keeps it. Never half: it is read as it lies there. */
export const placeOf = (folder: string) => {
  const path = join(folder, 'outbox.json');
  return existsSync(path) ? placeSchema.parse(JSON.parse(readFileSync(path, 'utf8'))) : {};
};

/** A firm under trial: its broker, its time series, its rigs, and a hub that may die at a step. */
export class Firm {
  readonly ends: (() => unknown)[] = [];
  readonly rigs: Rig[] = [];
  readonly root: string;
  readonly broker: Mosquitto;
  readonly series: Series;
  #made = 0;

  constructor(root: string, broker: Mosquitto, series: Series) {
    this.root = root;
    this.broker = broker;
    this.series = series;
  }

  get data(): string {
    return join(this.root, 'data');
  }

  /** A rig with two minutes recorded and sealed, on its way to the firm. */
  async another(): Promise<Rig> {
    this.#made += 1;
    const made = rig(`van-${this.#made}`);
    this.ends.push(() => made.dispose());
    this.rigs.push(made);
    made.record(2);
    made.seal();
    await made.join(this.broker.url);
    return made;
  }

  hub(death: Death | null): Worker {
    const work = startWork('hub', this.root, death, [this.broker.url, this.series.url]);
    this.ends.push(() => work.child.kill('SIGKILL'));
    return work;
  }

  /** What is wrong on the hub's disk, looked at in a copy: a chain that is not intact, a rig told of more than is there. */
  wrong(): string[] {
    if (!existsSync(join(this.data, 'limpid.sqlite'))) return [];
    const copy = mkdtempSync(join(tmpdir(), 'limpid-hub-copy-'));
    try {
      cpSync(this.data, copy, { recursive: true });
      const store = openStore(copy);
      const found = this.rigs.flatMap(({ runId, folder }) => {
        const told = placeOf(folder)[runId] ?? { links: 0, record: 'none' };
        const run = store.openRun(runId);
        return [
          ...(run && !verifyChain(run.head, run.events(), sha256).intact ? [`the chain of ${runId}`] : []),
          ...((run?.linkCount() ?? 0) < told.links ? [`${told.links} entries of ${runId} were told`] : []),
          ...(told.record === 'kept' && sealOf(copy, runId)?.state !== 'good' ? [`the record of ${runId}`] : []),
        ];
      });
      store.close();
      return found;
    } finally {
      rmSync(copy, { recursive: true, force: true });
    }
  }
}
