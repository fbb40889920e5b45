import { causeOf } from '../core/message/cause.ts';
import { closeSync, fsyncSync, mkdirSync, openSync, readFileSync, renameSync, rmSync, writeFileSync } from 'node:fs';
import { join } from 'node:path';
import { DatabaseSync, type DatabaseSyncInstance } from '@photostructure/sqlite';
import { z } from 'zod';
import { Problem } from '../core/message/problem.ts';
import { explain } from './explain.ts';
import { makeFolder } from './make-folder.ts';
import type { Migration } from './migrations/migrations.ts';

const applicationId = 0x4c494d50;

/** The SQLite file of a data folder: opened, locked for this process, checked and brought to the newest version. */
export class Database {
  readonly file: string;
  readonly #lockFile: string;
  readonly #db: DatabaseSyncInstance;
  #synced: boolean | null = null;

  /** Throws Problem: in use, not writable, damaged, too new, migration failed. `maxPages` bounds the file's size. */
  constructor(folder: string, migrations: readonly Migration[], maxPages?: number) {
    this.file = join(folder, 'limpid.sqlite');
    this.#lockFile = join(folder, 'limpid.lock');
    this.#db = this.guard(() => {
      makeFolder(folder);
      return new DatabaseSync(this.file);
    });
    try {
      this.guard(() => {
        // Held from the first read until the process ends, however it ends; no stale lock after a power cut.
        this.#db.exec('PRAGMA locking_mode = EXCLUSIVE');
        this.#db.exec('PRAGMA journal_mode = WAL');
        this.#db.exec('PRAGMA fullfsync = 1; PRAGMA foreign_keys = ON');
        this.#check();
        this.#migrate(folder, migrations);
        if (maxPages !== undefined) this.#db.exec(`PRAGMA max_page_count = ${Math.trunc(maxPages)}`);
        writeFileSync(this.#lockFile, `${process.pid}\n`);
      });
    } catch (error) {
      this.#release();
      throw error;
    }
  }

  get isOpen(): boolean {
    return this.#db.isOpen;
  }

  /** A statement, prepared once by the caller. `run` and the readers tell errors as Problem. */
  statement(sql: string): Statement {
    const prepared = this.guard(() => this.#db.prepare(sql));
    return {
      run: (...values) => void this.guard(() => prepared.run(...values)),
      rows: (...values) => this.guard((): unknown[] => prepared.all(...values)),
    };
  }

  /**
   * All of `work` or nothing. `sync`: on the disk itself when this returns; else in the hands of the operating system,
   * which outlives a kill of the process but not a power cut.
   */
  transaction(sync: boolean, work: () => void): void {
    if (!this.#db.isOpen) throw new Problem('store-closed', { file: this.file });
    this.guard(() => {
      if (this.#synced !== sync) this.#db.exec(`PRAGMA synchronous = ${sync ? 'FULL' : 'NORMAL'}`);
      this.#synced = sync;
      this.#db.exec('BEGIN IMMEDIATE');
      try {
        work();
        this.#db.exec('COMMIT');
      } catch (error) {
        // SQLite may have rolled back by itself (disk full).
        if (this.#db.isTransaction) this.#db.exec('ROLLBACK');
        throw error;
      }
    });
  }

  close(): void {
    if (!this.#db.isOpen) return;
    this.#release();
    try {
      rmSync(this.#lockFile, { force: true });
    } catch {
      // It only names the holder; a disk that failed keeps it.
    }
  }

  /**
   * The package ends its prepared statements only when they are collected, and until then SQLite keeps a closed
   * connection and its lock; so the lock is given back by hand. It can be given back only outside WAL mode.
   */
  #release(): void {
    try {
      this.#db.exec('PRAGMA journal_mode = DELETE; PRAGMA locking_mode = NORMAL; SELECT 1 FROM sqlite_schema');
    } catch {
      // A damaged or foreign file, or another's lock: there is nothing of ours to give back.
    }
    this.#db.close();
  }

  /** Errors of SQLite and of the file system as Problem; others as they are. */
  guard<T>(work: () => T): T {
    try {
      return work();
    } catch (error) {
      throw explain(error, this.file, () => this.#holder());
    }
  }

  /** The process that wrote its number last, where it still lives: another program may hold the file, too. */
  #holder(): string {
    try {
      const pid = readFileSync(this.#lockFile, 'utf8').trim();
      return isAlive(Number(pid)) ? pid : '';
    } catch {
      return '';
    }
  }

  #pragma(name: string): unknown {
    return z.looseObject({}).parse(this.#db.prepare(`PRAGMA ${name}`).get())[name];
  }

  #check(): void {
    const found = z.object({ quick_check: z.string() }).parse(this.#db.prepare('PRAGMA quick_check(1)').get());
    if (found.quick_check !== 'ok')
      throw new Problem('store-corrupt', { file: this.file, detail: found.quick_check.replace(/\s+/g, ' ') });
  }

  #migrate(folder: string, migrations: readonly Migration[]): void {
    const version = z.number().parse(this.#pragma('user_version'));
    const newest = migrations.length;
    if (version > newest) throw new Problem('store-too-new', { file: this.file, found: version, expected: newest });
    const fresh = this.#db.prepare('SELECT 1 FROM sqlite_schema').get() === undefined;
    if (!fresh && this.#pragma('application_id') !== applicationId)
      throw new Problem('store-foreign', { file: this.file });
    for (const step of migrations.slice(version)) {
      const backup = fresh ? '' : this.#backup(folder, step.version - 1);
      try {
        this.transaction(true, () => {
          this.#db.exec(step.sql);
          this.#db.exec(`PRAGMA application_id = ${applicationId}; PRAGMA user_version = ${step.version}`);
        });
      } catch (error) {
        if (error instanceof Problem || fresh) throw error;
        const detail = causeOf(error);
        const params = { file: this.file, from: step.version - 1, to: step.version, detail, backup };
        throw new Problem('store-migration-failed', params, { cause: error });
      }
    }
  }

  #backup(folder: string, version: number): string {
    const target = join(folder, 'backup', `limpid-version-${version}.sqlite`);
    mkdirSync(join(folder, 'backup'), { recursive: true });
    this.copyTo(target);
    return target;
  }

  /**
   * A whole copy, made by SQLite itself, on the disk and under its name only when whole: reading the open file past it
   * would drop this process's lock. Throws Problem.
   */
  copyTo(target: string): void {
    this.guard(() => {
      const part = `${target}.part`;
      rmSync(part, { force: true });
      this.#db.prepare('VACUUM INTO ?').run(part);
      const handle = openSync(part, 'r+');
      fsyncSync(handle);
      closeSync(handle);
      renameSync(part, target);
    });
  }
}

export type SqlValue = string | number | null | Uint8Array;

export interface Statement {
  run(...values: SqlValue[]): void;
  rows(...values: SqlValue[]): unknown[];
}

function isAlive(pid: number): boolean {
  if (!Number.isSafeInteger(pid) || pid <= 0) return false;
  try {
    process.kill(pid, 0);
    return true;
  } catch (error) {
    // One of another user's may not be asked.
    return error instanceof Error && 'code' in error && error.code === 'EPERM';
  }
}
