import { causeOf } from '../core/message/cause.ts';
import { copyFileSync, existsSync, mkdtempSync, rmSync } from 'node:fs';
import { tmpdir } from 'node:os';
import { join } from 'node:path';
import { DatabaseSync, type DatabaseSyncInstance } from '@photostructure/sqlite';
import { z } from 'zod';
import { Problem } from '../core/message/problem.ts';
import type { Sample } from '../core/quantity/sample.ts';
import { decodeChunk } from './chunk.ts';
import { runHeadSchema, storedEventSchema } from './rows.ts';
import type { KeptCertificate, RunHead, StoredEvent } from './store.ts';

/** What could be read of a run in a damaged store. */
export interface SalvagedRun {
  readonly head: RunHead;
  /** Entries that could be read, in the order of their chain; some may be missing in between. */
  readonly links: readonly StoredEvent[];
  readonly chunks: ReadonlyMap<number, Uint8Array>;
  /** Samples that were in no chunk yet. */
  readonly tail: readonly Sample[];
}

export interface Salvaged {
  readonly runs: readonly SalvagedRun[];
  readonly certificates: readonly KeptCertificate[];
  /** Places of the tables that could not be read, by table: at least so many rows are gone. */
  readonly unreadable: Readonly<Record<string, number>>;
}

/** After so many places in a row where nothing can be read, the end of a table is taken to be reached. */
const giveUpAfter = 20_000;

const runRow = z.object({ run: z.number(), head: z.string() });
const eventRow = z.object({ run: z.number(), link: z.string() });
const chunkRow = z.object({ run: z.number(), chunk: z.number(), body: z.instanceof(Uint8Array) });
const tailRow = z.object({ run: z.number(), body: z.instanceof(Uint8Array) });
const certificateRow = z.object({ id: z.string(), kit: z.string(), body: z.string() });

/**
 * Read what can be read of the store in `folder`, row by row, from a copy: the damaged files stay as they are. Throws
 * Problem: there is no store, or its first page is gone and with it all.
 */
export function salvage(folder: string): Salvaged {
  const file = join(folder, 'limpid.sqlite');
  if (!existsSync(file)) throw new Problem('store-past-salvage', { file, detail: 'there is no such file' });
  const copy = mkdtempSync(join(tmpdir(), 'limpid-salvage-'));
  try {
    for (const end of ['', '-wal'])
      if (existsSync(`${file}${end}`)) copyFileSync(`${file}${end}`, join(copy, `copy.sqlite${end}`));
    return readAll(openCopy(join(copy, 'copy.sqlite'), file));
  } finally {
    rmSync(copy, { recursive: true, force: true });
  }
}

function openCopy(copy: string, file: string): DatabaseSyncInstance {
  try {
    const db = new DatabaseSync(copy);
    db.prepare('SELECT count(*) FROM sqlite_schema').get();
    return db;
  } catch (error) {
    const detail = causeOf(error);
    throw new Problem('store-past-salvage', { file, detail }, { cause: error });
  }
}

function readAll(db: DatabaseSyncInstance): Salvaged {
  const unreadable: Record<string, number> = {};
  const rows = <T>(table: string, columns: string, schema: z.ZodType<T>): T[] => {
    const { found, missed } = readTable(db, table, columns);
    const good: T[] = [];
    for (const row of found) {
      const parsed = schema.safeParse(row);
      if (parsed.success) good.push(parsed.data);
      else unreadable[table] = (unreadable[table] ?? 0) + 1;
    }
    if (missed > 0) unreadable[table] = (unreadable[table] ?? 0) + missed;
    return good;
  };
  const events = rows('events', 'run, link', eventRow);
  const chunks = rows('chunks', 'run, chunk, body', chunkRow);
  const tails = rows('tail', 'run, body', tailRow);
  const runs = rows('runs', 'run, head', runRow).flatMap(({ run, head }): SalvagedRun[] => {
    const parsed = runHeadSchema.safeParse(json(head));
    if (!parsed.success) return [];
    const links = events
      .filter((e) => e.run === run)
      .flatMap((e) => storedEventSchema.safeParse(json(e.link)).data ?? [])
      .sort((a, b) => a.index - b.index);
    const own = chunks.filter((c) => c.run === run);
    const tail = tails.filter((t) => t.run === run).flatMap((t) => samplesOf(t.body));
    return [{ head: parsed.data, links, chunks: new Map(own.map((c) => [c.chunk, c.body])), tail }];
  });
  return { runs, certificates: rows('certificates', 'id, kit, body', certificateRow), unreadable };
}

/** Every row of a table that can be read, looked up one by one where reading on fails. */
function readTable(db: DatabaseSyncInstance, table: string, columns: string): { found: unknown[]; missed: number } {
  const found: unknown[] = [];
  let missed = 0;
  let at = 0;
  let emptyInARow = 0;
  let next: ReturnType<DatabaseSyncInstance['prepare']>;
  let one: ReturnType<DatabaseSyncInstance['prepare']>;
  try {
    next = db.prepare(`SELECT rowid AS at, ${columns} FROM ${table} WHERE rowid > ? ORDER BY rowid LIMIT 1`);
    one = db.prepare(`SELECT rowid AS at, ${columns} FROM ${table} WHERE rowid = ?`);
  } catch {
    // The table is not in this version of the store.
    return { found, missed };
  }
  const atOf = z.object({ at: z.number() });
  while (emptyInARow < giveUpAfter) {
    try {
      const row = next.get(at);
      if (row === undefined) return { found, missed };
      at = atOf.parse(row).at;
      found.push(row);
      missed += emptyInARow;
      emptyInARow = 0;
    } catch {
      at += 1;
      try {
        const row = one.get(at);
        if (row === undefined) emptyInARow += 1;
        else {
          found.push(row);
          missed += emptyInARow;
          emptyInARow = 0;
        }
      } catch {
        emptyInARow += 1;
      }
    }
  }
  // How many rows there were beyond is not known: one at least.
  return { found, missed: missed + 1 };
}

function json(text: string): unknown {
  try {
    return JSON.parse(text);
  } catch {
    return undefined;
  }
}

/** Samples of a chunk, none when its bytes are no chunk. */
export function samplesOf(body: Uint8Array): Sample[] {
  try {
    return decodeChunk(body);
  } catch {
    return [];
  }
}
