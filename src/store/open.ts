import { rmSync } from 'node:fs';
import { join } from 'node:path';
import { Problem } from '../core/message/problem.ts';
import { canonical } from '../core/seal/canonical.ts';
import { Database } from './database.ts';
import { type Migration, migrations } from './migrations/migrations.ts';
import { office } from './office.ts';
import { grow } from './grow.ts';
import { restore } from './restore.ts';
import { certificateRow, countRow, readHead, runHeadSchema, runIdRow, runRow } from './rows.ts';
import { runIndex } from './run-index.ts';
import { SqliteRun, type StoreClock } from './run-store.ts';
import { prepareAll } from './statements.ts';
import type { RunHead, RunStore, Store } from './store.ts';

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
  // Whoever has the store has the folder: what lies here was left half done by a process that died.
  db.guard(() => rmSync(join(dataFolder, 'work'), { recursive: true, force: true }));
  const sql = prepareAll(db);
  const open = new Map<string, SqliteRun>();

  const find = (runId: string): SqliteRun | null => {
    const known = open.get(runId);
    if (known) return known;
    const row = sql.run.rows(runId).map((r) => runRow.parse(r))[0];
    if (!row) return null;
    const run = new SqliteRun(db, sql, clock, row.run, readHead(row));
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
    runs: () => sql.heads.rows().map((row) => readHead(runRow.parse(row))),
    runCount: () => countRow.parse(sql.countRuns.rows()[0]).count,
    createRun: (head) => create(head, () => undefined),
    restoreRun: (head, links, samples, late = []) =>
      create(head, (run) => restore(sql, run, head, links, { samples, late })),
    growRun(given, links, chunkOf) {
      const head = runHeadSchema.parse(given);
      const { runId } = head;
      let count = 0;
      db.transaction(true, () => {
        const known = sql.run.rows(runId).map((row) => runRow.parse(row))[0];
        if (known && known.head !== canonical(head)) throw new Problem('store-run-exists', { runId });
        if (!known) sql.addRun.run(runId, canonical(head));
        count = grow(sql, runRow.parse(sql.run.rows(runId)[0]).run, head, links, chunkOf);
      });
      // What was read of it before is no longer all of it.
      open.delete(runId);
      return count;
    },
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
    copyTo(file) {
      for (const run of open.values()) run.settle();
      db.copyTo(file);
    },
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
