import { Problem } from '../core/message/problem.ts';
import type { Sample } from '../core/quantity/sample.ts';
import { canonical } from '../core/seal/canonical.ts';
import { Database } from './database.ts';
import { type Migration, migrations } from './migrations/migrations.ts';
import { office } from './office.ts';
import { restore } from './restore.ts';
import { certificateRow, headRow, runHeadSchema, runIdRow, runRow } from './rows.ts';
import { runIndex } from './run-index.ts';
import { SqliteRun, type StoreClock } from './run-store.ts';
import { prepareAll } from './statements.ts';
import type { RunHead, RunStore, Store, StoredEvent } from './store.ts';

export interface StoreOptions {
  readonly clock?: StoreClock;
  /** Steps to the newest shape of the database. */
  readonly migrations?: readonly Migration[];
  /** Bound of the file in pages of 4096 bytes; none by default. */
  readonly maxPages?: number;
}

const systemClock: StoreClock = {
  wallAt: () => new Date().toISOString(),
  nowS: () => performance.now() / 1000,
};

/**
 * Open the store in `dataFolder`, made if absent. One process at a time. Throws Problem: in use, not writable, damaged,
 * no room, written by a newer Limpid.
 */
export function openStore(dataFolder: string, options: StoreOptions = {}): Store {
  const clock = options.clock ?? systemClock;
  const db = new Database(dataFolder, options.migrations ?? migrations, options.maxPages);
  const sql = prepareAll(db);
  const open = new Map<string, SqliteRun>();

  const find = (runId: string): SqliteRun | null => {
    const known = open.get(runId);
    if (known) return known;
    const row = sql.run.rows(runId).map((r) => runRow.parse(r))[0];
    if (!row) return null;
    const run = new SqliteRun(db, sql, clock, row.run, runHeadSchema.parse(JSON.parse(row.head)));
    open.set(runId, run);
    return run;
  };

  const create = (head: RunHead, fill: (run: number) => void): RunStore => {
    const whole = runHeadSchema.parse(head);
    const { runId } = whole;
    db.transaction(true, () => {
      if (sql.run.rows(runId).length > 0) throw new Problem('store-run-exists', { runId });
      sql.addRun.run(runId, canonical(whole));
      fill(runRow.parse(sql.run.rows(runId)[0]).run);
    });
    const run = find(runId);
    if (!run) throw new Error(`run ${runId} was not made`);
    return run;
  };

  return {
    index: runIndex(db),
    office: office(db),
    runs: () => sql.heads.rows().map((row) => runHeadSchema.parse(JSON.parse(headRow.parse(row).head))),
    createRun: (head) => create(head, () => undefined),
    restoreRun: (head: RunHead, links: readonly StoredEvent[], samples: Iterable<Sample>) =>
      create(head, (run) => restore(sql, run, head, links, samples)),
    openRun: find,
    currentRunId: () => sql.current.rows().map((row) => runIdRow.parse(row).run_id)[0] ?? null,
    setCurrentRun: (runId) => db.transaction(true, () => sql.setCurrent.run(runId)),
    certificates: (kit) =>
      (kit === undefined ? sql.allCertificates.rows() : sql.certificates.rows(kit)).map(
        (row) => certificateRow.parse(row).body,
      ),
    addCertificate: ({ id, kit, body }) =>
      db.transaction(true, () => {
        if (sql.certificateById.rows(id).length > 0) throw new Problem('store-certificate-exists', { id });
        sql.addCertificate.run(id, kit, body);
      }),
    close: () => {
      if (!db.isOpen) return;
      try {
        for (const run of open.values()) run.settle();
      } finally {
        db.close();
      }
    },
  };
}
