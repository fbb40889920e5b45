import { join } from 'node:path';
import { DatabaseSync, type DatabaseSyncInstance } from '@photostructure/sqlite';
import { z } from 'zod';
import type { Message } from '../core/message/message.ts';
import type { Link } from '../core/seal/chain.ts';
import { explain } from './explain.ts';
import { makeFolder } from './make-folder.ts';
import { storedEventSchema } from './rows.ts';

/** A run as far as it has come. `links`: entries in the firm's own store. */
export interface ArrivingRun {
  readonly runId: string;
  readonly rig: string;
  readonly links: number;
  readonly record: 'none' | 'kept' | 'refused';
}

export interface ArrivedChunk {
  readonly runId: string;
  readonly rig: string;
  readonly chunk: number;
  readonly startedAt: string;
  readonly body: Uint8Array;
}

/** What was set aside, with its reason; the same reason for the same run is counted, not kept twice. */
export interface SetAside {
  readonly rig: string;
  readonly runId: string;
  readonly why: Message;
  readonly times: number;
  /** ISO 8601 UTC. */
  readonly lastAt: string;
}

export interface RecordPiece {
  readonly file: string;
  readonly at: number;
  readonly of: number;
  readonly sha256: string;
  readonly body: Uint8Array;
}

const schema = `
CREATE TABLE IF NOT EXISTS runs (
  run_id TEXT PRIMARY KEY, rig TEXT NOT NULL, head TEXT, links INTEGER NOT NULL DEFAULT 0,
  record TEXT NOT NULL DEFAULT 'none', news INTEGER NOT NULL DEFAULT 1
) WITHOUT ROWID;
CREATE INDEX IF NOT EXISTS runs_news ON runs (news) WHERE news = 1;
CREATE TABLE IF NOT EXISTS links (
  run_id TEXT NOT NULL, idx INTEGER NOT NULL, link TEXT NOT NULL, PRIMARY KEY (run_id, idx)
) WITHOUT ROWID;
-- A chunk that is in its place and in the time series keeps its row, so that one that comes again is known; its body goes.
CREATE TABLE IF NOT EXISTS chunks (
  n INTEGER PRIMARY KEY, run_id TEXT NOT NULL, chunk INTEGER NOT NULL, rig TEXT NOT NULL, started_at TEXT NOT NULL,
  body BLOB, placed INTEGER NOT NULL DEFAULT 0, written INTEGER NOT NULL DEFAULT 0, claimed_until INTEGER NOT NULL DEFAULT 0,
  UNIQUE (run_id, chunk)
);
CREATE INDEX IF NOT EXISTS chunks_unwritten ON chunks (n) WHERE written = 0;
CREATE TABLE IF NOT EXISTS pieces (
  run_id TEXT NOT NULL, file TEXT NOT NULL, at INTEGER NOT NULL, size INTEGER NOT NULL, of INTEGER NOT NULL,
  sha256 TEXT NOT NULL, body BLOB NOT NULL, PRIMARY KEY (run_id, file, at)
);
CREATE TABLE IF NOT EXISTS aside (
  run_id TEXT NOT NULL, rig TEXT NOT NULL, code TEXT NOT NULL, params TEXT NOT NULL, topic TEXT NOT NULL, payload BLOB,
  times INTEGER NOT NULL, last_at TEXT NOT NULL, PRIMARY KEY (run_id, rig, code)
);
PRAGMA user_version = 1;
`;

const runRow = z.object({
  run_id: z.string(),
  rig: z.string(),
  links: z.number(),
  record: z.enum(['none', 'kept', 'refused']),
});
const chunkRow = z.object({
  n: z.number(),
  run_id: z.string(),
  chunk: z.number(),
  rig: z.string(),
  started_at: z.string(),
  body: z.instanceof(Uint8Array),
});
const pieceRow = z.object({
  file: z.string(),
  at: z.number(),
  of: z.number(),
  sha256: z.string(),
  body: z.instanceof(Uint8Array),
});
const asideRow = z.object({
  run_id: z.string(),
  rig: z.string(),
  code: z.string(),
  params: z.string(),
  times: z.number(),
  last_at: z.string(),
});
const paramsSchema = z.record(z.string(), z.union([z.string(), z.number()]));
/** Longer than a server is given to have it on its disk. */
const claimMs = 120_000;
/** So much of a message that cannot be read is kept, for whoever looks into it. */
const asideBytes = 64 * 1024;

/**
 * Where a hub keeps what came until it is in its place: one SQLite file that any number of hub processes of a machine
 * share. Every change is on the disk when its method returns.
 */
export class Arrivals {
  readonly #db: DatabaseSyncInstance;
  readonly #sql: ReturnType<typeof prepare>;
  readonly #file: string;
  readonly #wallMs: () => number;

  /** Throws Problem: not writable, no room, damaged. */
  constructor(dataFolder: string, wallMs: () => number = Date.now) {
    this.#file = join(dataFolder, 'arrivals.sqlite');
    this.#wallMs = wallMs;
    try {
      makeFolder(dataFolder);
      this.#db = new DatabaseSync(this.#file);
      this.#db.exec('PRAGMA busy_timeout = 10000; PRAGMA journal_mode = WAL; PRAGMA synchronous = FULL');
      this.#write(() => this.#db.exec(schema));
      this.#sql = prepare(this.#db);
    } catch (error) {
      throw explain(error, this.#file);
    }
  }

  /** `other-rig`: the run belongs to another. `known`: all of it is here or in its place. */
  putLinks(rig: string, runId: string, head: unknown, links: readonly Link[]): 'new' | 'known' | 'other-rig' {
    return this.#put(rig, runId, (run) => {
      let news = false;
      if (this.#sql.setHead.run(JSON.stringify(head), runId).changes > 0) news = true;
      for (const link of links)
        if (link.index >= run.links && this.#sql.addLink.run(runId, link.index, JSON.stringify(link)).changes > 0)
          news = true;
      return news;
    });
  }

  putChunk(
    rig: string,
    runId: string,
    chunk: { chunk: number; startedAt: string; body: Uint8Array },
  ): 'new' | 'known' | 'other-rig' {
    return this.#put(
      rig,
      runId,
      () => this.#sql.addChunk.run(runId, chunk.chunk, rig, chunk.startedAt, chunk.body).changes > 0,
    );
  }

  putPiece(rig: string, runId: string, piece: RecordPiece): 'new' | 'known' | 'other-rig' {
    return this.#put(rig, runId, (run) => {
      if (run.record !== 'none') return false;
      const { file, at, of, sha256, body } = piece;
      return this.#sql.addPiece.run(runId, file, at, body.length, of, sha256, body).changes > 0;
    });
  }

  setAside(rig: string, runId: string, topic: string, why: Message, payload: Uint8Array): void {
    const at = new Date(this.#wallMs()).toISOString();
    const kept = payload.subarray(0, asideBytes);
    this.#write(() => this.#sql.setAside.run(runId, rig, why.code, JSON.stringify(why.params), topic, kept, at, at));
  }

  aside(): SetAside[] {
    return this.#sql.aside.all().map((row) => {
      const { run_id, rig, code, params, times, last_at } = asideRow.parse(row);
      return {
        rig,
        runId: run_id,
        why: { code, params: paramsSchema.parse(JSON.parse(params)) },
        times,
        lastAt: last_at,
      };
    });
  }

  runs(): ArrivingRun[] {
    return this.#sql.runs.all().map(asRun);
  }

  runsWithNews(): ArrivingRun[] {
    return this.#sql.news.all().map(asRun);
  }

  /** Every run that is not whole is news: a process may have died while it looked at one. */
  lookAgain(): void {
    this.#write(() => this.#sql.lookAgain.run());
  }

  looked(runId: string): void {
    this.#write(() => this.#sql.looked.run(runId));
  }

  /** The run's head as first told; undefined: none yet. */
  head(runId: string): unknown {
    const head = z.object({ head: z.string().nullable() }).optional().parse(this.#sql.head.get(runId))?.head;
    return head === undefined || head === null ? undefined : JSON.parse(head);
  }

  /** Entries from `from` on without a gap. */
  links(runId: string, from: number, limit: number): Link[] {
    const links: Link[] = [];
    for (const row of this.#sql.links.all(runId, from, limit)) {
      const link = storedEventSchema.parse(JSON.parse(z.object({ link: z.string() }).parse(row).link));
      if (link.index !== from + links.length) break;
      links.push(link);
    }
    return links;
  }

  chunk(runId: string, chunk: number): Uint8Array | null {
    return (
      z
        .object({ body: z.instanceof(Uint8Array).nullable() })
        .optional()
        .parse(this.#sql.chunk.get(runId, chunk))?.body ?? null
    );
  }

  /** The first `links` entries are in the firm's store, with the chunks that they close. */
  placed(runId: string, links: number, chunks: readonly number[]): void {
    this.#write(() => {
      this.#sql.setLinks.run(links, runId);
      this.#sql.dropLinks.run(runId, links);
      for (const chunk of chunks) this.#sql.placeChunk.run(runId, chunk);
      this.#sql.emptyChunks.run(runId);
    });
  }

  /** What waits of a chain is wrong: let it go, so that it can come again. */
  dropWaiting(runId: string): void {
    this.#write(() => {
      this.#sql.dropAllLinks.run(runId);
      this.#sql.dropUnplaced.run(runId);
    });
  }

  pieces(runId: string): RecordPiece[] {
    return this.#sql.pieces.all(runId).map((row) => pieceRow.parse(row));
  }

  recordDone(runId: string, state: 'kept' | 'refused'): void {
    this.#write(() => {
      this.#sql.setRecord.run(state, runId);
      this.#sql.dropPieces.run(runId);
    });
  }

  /** Chunks that no time series has, claimed for two minutes, so that several processes share the work. */
  unwritten(limit: number): ArrivedChunk[] {
    let found: ArrivedChunk[] = [];
    this.#write(() => {
      const now = this.#wallMs();
      // A claim that ends later than one made now was made before the clock was set back: it is over.
      found = this.#sql.unwritten.all(now, now + claimMs, limit).map((row) => {
        const { n, run_id, chunk, rig, started_at, body } = chunkRow.parse(row);
        this.#sql.claim.run(now + claimMs, n);
        return { runId: run_id, rig, chunk, startedAt: started_at, body };
      });
    });
    return found;
  }

  written(chunks: readonly { readonly runId: string; readonly chunk: number }[]): void {
    this.#write(() => {
      for (const { runId, chunk } of chunks) {
        this.#sql.setWritten.run(runId, chunk);
        this.#sql.emptyChunk.run(runId, chunk);
      }
    });
  }

  /** The server did not take them: free for whoever tries next. */
  release(chunks: readonly { readonly runId: string; readonly chunk: number }[]): void {
    this.#write(() => {
      for (const { runId, chunk } of chunks) this.#sql.release.run(runId, chunk);
    });
  }

  /** What waits, for people and for the measures. */
  waiting(): { readonly links: number; readonly unplaced: number; readonly unwritten: number } {
    return z.object({ links: z.number(), unplaced: z.number(), unwritten: z.number() }).parse(this.#sql.waiting.get());
  }

  close(): void {
    this.#db.close();
  }

  #put(rig: string, runId: string, add: (run: ArrivingRun) => boolean): 'new' | 'known' | 'other-rig' {
    let answer: 'new' | 'known' | 'other-rig' = 'known';
    this.#write(() => {
      this.#sql.addRun.run(runId, rig);
      const run = asRun(this.#sql.run.get(runId));
      if (run.rig !== rig) answer = 'other-rig';
      else if (add(run)) answer = 'new';
      // Known ones, too: the rig does not know yet that they are here, and is told when the run is looked at.
      if (answer !== 'other-rig') this.#sql.setNews.run(runId);
    });
    return answer;
  }

  #write(work: () => void): void {
    try {
      this.#db.exec('BEGIN IMMEDIATE');
      work();
      this.#db.exec('COMMIT');
    } catch (error) {
      if (this.#db.isTransaction) this.#db.exec('ROLLBACK');
      throw explain(error, this.#file);
    }
  }
}

function asRun(row: unknown): ArrivingRun {
  const { run_id, rig, links, record } = runRow.parse(row);
  return { runId: run_id, rig, links, record };
}

function prepare(db: DatabaseSyncInstance) {
  return {
    addRun: db.prepare('INSERT OR IGNORE INTO runs (run_id, rig) VALUES (?, ?)'),
    run: db.prepare('SELECT run_id, rig, links, record FROM runs WHERE run_id = ?'),
    runs: db.prepare('SELECT run_id, rig, links, record FROM runs'),
    news: db.prepare('SELECT run_id, rig, links, record FROM runs WHERE news = 1'),
    setNews: db.prepare('UPDATE runs SET news = 1 WHERE run_id = ?'),
    lookAgain: db.prepare("UPDATE runs SET news = 1 WHERE record = 'none'"),
    looked: db.prepare('UPDATE runs SET news = 0 WHERE run_id = ?'),
    head: db.prepare('SELECT head FROM runs WHERE run_id = ?'),
    setHead: db.prepare('UPDATE runs SET head = ? WHERE run_id = ? AND head IS NULL'),
    setLinks: db.prepare('UPDATE runs SET links = ? WHERE run_id = ?'),
    setRecord: db.prepare('UPDATE runs SET record = ? WHERE run_id = ?'),

    addLink: db.prepare('INSERT OR IGNORE INTO links (run_id, idx, link) VALUES (?, ?, ?)'),
    links: db.prepare('SELECT link FROM links WHERE run_id = ? AND idx >= ? ORDER BY idx LIMIT ?'),
    dropLinks: db.prepare('DELETE FROM links WHERE run_id = ? AND idx < ?'),
    dropAllLinks: db.prepare('DELETE FROM links WHERE run_id = ?'),

    addChunk: db.prepare('INSERT OR IGNORE INTO chunks (run_id, chunk, rig, started_at, body) VALUES (?, ?, ?, ?, ?)'),
    dropUnplaced: db.prepare('DELETE FROM chunks WHERE run_id = ? AND placed = 0'),
    chunk: db.prepare('SELECT body FROM chunks WHERE run_id = ? AND chunk = ?'),
    placeChunk: db.prepare('UPDATE chunks SET placed = 1 WHERE run_id = ? AND chunk = ?'),
    emptyChunks: db.prepare(
      'UPDATE chunks SET body = NULL WHERE run_id = ? AND placed = 1 AND written = 1 AND body IS NOT NULL',
    ),
    unwritten: db.prepare(
      'SELECT n, run_id, chunk, rig, started_at, body FROM chunks WHERE written = 0 AND claimed_until NOT BETWEEN ? AND ? ORDER BY n LIMIT ?',
    ),
    claim: db.prepare('UPDATE chunks SET claimed_until = ? WHERE n = ?'),
    release: db.prepare('UPDATE chunks SET claimed_until = 0 WHERE run_id = ? AND chunk = ?'),
    setWritten: db.prepare('UPDATE chunks SET written = 1 WHERE run_id = ? AND chunk = ?'),
    emptyChunk: db.prepare('UPDATE chunks SET body = NULL WHERE run_id = ? AND chunk = ? AND placed = 1'),

    // One that begins at the same place and holds more takes the place of the other: a rig may cut otherwise than before.
    addPiece: db.prepare(
      `INSERT INTO pieces (run_id, file, at, size, of, sha256, body) VALUES (?, ?, ?, ?, ?, ?, ?)
       ON CONFLICT DO UPDATE SET size = excluded.size, body = excluded.body WHERE excluded.size > size`,
    ),
    pieces: db.prepare('SELECT file, at, of, sha256, body FROM pieces WHERE run_id = ? ORDER BY file, at'),
    dropPieces: db.prepare('DELETE FROM pieces WHERE run_id = ?'),

    setAside: db.prepare(
      `INSERT INTO aside (run_id, rig, code, params, topic, payload, times, last_at) VALUES (?, ?, ?, ?, ?, ?, 1, ?)
       ON CONFLICT DO UPDATE SET times = times + 1, last_at = ?`,
    ),
    aside: db.prepare('SELECT run_id, rig, code, params, times, last_at FROM aside ORDER BY last_at DESC'),
    waiting: db.prepare(
      `SELECT (SELECT count(*) FROM links) AS links,
              (SELECT count(*) FROM chunks WHERE placed = 0) AS unplaced,
              (SELECT count(*) FROM chunks WHERE written = 0) AS unwritten`,
    ),
  };
}
