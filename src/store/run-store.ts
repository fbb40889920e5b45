import { Problem } from '../core/message/problem.ts';
import { type Sample, sampleKeys } from '../core/quantity/sample.ts';
import { canonical } from '../core/seal/canonical.ts';
import { genesisHash, nextLink } from '../core/seal/chain.ts';
import { encodeChunk } from './chunk.ts';
import { cleanEvent } from './clean-event.ts';
import type { Database } from './database.ts';
import { sealEvent } from '../core/seal/named.ts';
import { countRow, readBody, readBytes, readChunkRow, readLink, readTime, samplesKept, sha256 } from './rows.ts';
import type { Statements } from './statements.ts';
import type { KeptChunk, NewEvent, RunHead, RunStore, StoredEvent } from './store.ts';

/** A chunk is closed when it spans a minute, or sooner when samples come fast. */
const chunkSpanS = 60;
const chunkSamples = 4096;
/** Late samples of so long make one chunk: they come in bursts. */
const lateWaitS = 1;
/** Samples are on the disk itself, not only with the operating system, at least this often. */
const syncEveryS = 1;

/** Time for the store: wall clock for people, monotonic seconds for "how long ago". */
export interface StoreClock {
  wallAt(): string;
  nowS(): number;
}

/** Where the chain stands; replaced, never changed, so that a failed commit leaves it as it was. */
interface ChainEnd {
  readonly count: number;
  readonly hash: string;
}

export class SqliteRun implements RunStore {
  readonly head: RunHead;
  readonly #run: number;
  readonly #db: Database;
  readonly #sql: Statements;
  readonly #clock: StoreClock;
  #end: ChainEnd;
  /** Samples since the last closed chunk; the first `#committed` of them are in the tail table. */
  #pending: Sample[];
  #committed: number;
  #chunks: number;
  /** Late samples since their last chunk; in the store only with it. */
  #late: Sample[] = [];
  #lateChunks: number;
  #lateSinceS = 0;
  #lastSampleS: number | null;
  #lastEventS: number;
  #syncedAtS: number;
  #unsynced = false;
  #sealed: boolean;

  constructor(db: Database, sql: Statements, clock: StoreClock, run: number, head: RunHead) {
    this.head = head;
    this.#run = run;
    this.#db = db;
    this.#sql = sql;
    this.#clock = clock;
    const lastLink = sql.lastEvent.rows(run).map((row) => readLink(head.runId, row))[0];
    this.#sealed = lastLink?.event.event === sealEvent;
    this.#end = { count: lastLink ? lastLink.index + 1 : 0, hash: lastLink?.hash ?? genesisHash(head, sha256) };
    const lastChunk = sql.lastChunk.rows(run).map((row) => readChunkRow(head.runId, row))[0];
    this.#chunks = lastChunk ? lastChunk.chunk + 1 : 0;
    this.#lateChunks = countRow.parse(sql.countLate.rows(run)[0]).count;
    this.#pending = sql.tail.rows(run).flatMap((row) => readBody(head.runId, 'the last samples', row));
    this.#committed = this.#pending.length;
    this.#lastSampleS = this.#pending.at(-1)?.timeS ?? lastChunk?.to_s ?? null;
    this.#lastEventS = readTime(head.runId, sql.lastEventTime.rows(run)[0]) ?? 0;
    this.#syncedAtS = clock.nowS();
  }

  appendEvent(event: NewEvent): { stored: StoredEvent; doubled: boolean } {
    const known = this.#sql.eventById.rows(this.#run, event.id)[0];
    if (known) return { stored: readLink(this.head.runId, known), doubled: true };
    // A sealing that was cut short may be begun again.
    if (this.#sealed && event.event.event !== sealEvent)
      throw new Problem('seal-run-closed', { runId: this.head.runId });
    const stored = nextStored(this.#end, cleanEvent(event));
    this.#db.transaction(true, () => this.#insertLink(stored));
    this.#wentOn([stored]);
    this.#synced();
    return { stored, doubled: false };
  }

  #refuseNumbers(sample: Sample): void {
    if (this.#sealed) throw new Problem('seal-run-closed', { runId: this.head.runId });
    const { timeS } = sample;
    if (!Number.isFinite(timeS)) throw new Problem('store-sample-number', { timeS, key: 'timeS', found: timeS });
    for (const key of sampleKeys) {
      const found = sample[key];
      if (found !== null && !Number.isFinite(found)) throw new Problem('store-sample-number', { timeS, key, found });
    }
  }

  appendSample(sample: Sample): void {
    this.#refuseNumbers(sample);
    const { timeS } = sample;
    if (this.#lastSampleS !== null && timeS <= this.#lastSampleS)
      throw new Problem('store-sample-order', { timeS, lastS: this.#lastSampleS });
    this.#pending.push(sample);
    this.#lastSampleS = timeS;
  }

  appendLate(sample: Sample): void {
    this.#refuseNumbers(sample);
    if (this.#late.length === 0) this.#lateSinceS = this.#clock.nowS();
    this.#late.push(sample);
  }

  flush(): void {
    if (this.#late.length > 0 && this.#clock.nowS() - this.#lateSinceS >= lateWaitS) this.#keepLate();
    if (this.#pending.length > this.#committed) this.#commitSamples(false);
    else if (this.#unsynced && this.#clock.nowS() - this.#syncedAtS >= syncEveryS) this.#sync();
  }

  keepSamples(): void {
    if (this.#pending.length > 0) this.#commitSamples(true);
    this.#keepLate();
  }

  /** Commit what is buffered and wait for the disk; at the end of the process. */
  settle(): void {
    this.#keepLate();
    this.flush();
    if (this.#unsynced) this.#sync();
  }

  events(): StoredEvent[] {
    return this.#sql.events.rows(this.#run).map((row) => readLink(this.head.runId, row));
  }

  linkCount(): number {
    return this.#end.count;
  }

  links(from: number, limit: number): StoredEvent[] {
    return this.#sql.eventsFrom.rows(this.#run, from, limit).map((row) => readLink(this.head.runId, row));
  }

  chunkBody(chunk: number): Uint8Array | null {
    const [row] = this.#sql.chunkBody.rows(this.#run, chunk);
    return row === undefined ? null : readBytes(this.head.runId, `chunk ${chunk} of the samples`, row);
  }

  chunks(): KeptChunk[] {
    return this.#sql.allChunks.rows(this.#run).map((row) => {
      const { chunk, from_s: fromS, to_s: toS, count } = readChunkRow(this.head.runId, row);
      return { chunk, fromS, toS, count };
    });
  }

  unchained(): number {
    return this.#pending.length + this.#late.length;
  }

  unkept(): { count: number; fromS: number } | null {
    const waiting = [...this.#pending.slice(this.#committed), ...this.#late];
    return waiting.length === 0
      ? null
      : {
          count: waiting.length,
          fromS: waiting.reduce((least, s) => Math.min(least, s.timeS), Number.POSITIVE_INFINITY),
        };
  }

  /** A picture of the moment of the call: what is appended while reading is not in it. */
  samples(fromS = Number.NEGATIVE_INFINITY, toS = Number.POSITIVE_INFINITY): Iterable<Sample> {
    const inside = (s: Sample): boolean => s.timeS >= fromS && s.timeS <= toS;
    const chunks = this.#sql.chunks.rows(this.#run, fromS, toS).map((row) => readChunkRow(this.head.runId, row));
    const rest = this.#pending.filter(inside);
    const bodyOf = (chunk: number): Sample[] => this.#samplesOf(chunk);
    return {
      *[Symbol.iterator]() {
        for (const { chunk, from_s, to_s } of chunks) {
          const whole = from_s >= fromS && to_s <= toS;
          yield* whole ? bodyOf(chunk) : bodyOf(chunk).filter(inside);
        }
        yield* rest;
      },
    };
  }

  late(fromS = Number.NEGATIVE_INFINITY, toS = Number.POSITIVE_INFINITY): Sample[] {
    const kept = this.#sql.lateChunks
      .rows(this.#run, fromS, toS)
      .flatMap((row) => this.#samplesOf(readChunkRow(this.head.runId, row).chunk));
    return [...kept, ...this.#late].filter((s) => s.timeS >= fromS && s.timeS <= toS);
  }

  #samplesOf(chunk: number): Sample[] {
    return this.#sql.chunkBody
      .rows(this.#run, chunk)
      .flatMap((row) => readBody(this.head.runId, `chunk ${chunk} of the samples`, row));
  }

  lastTimeS(): number {
    return Math.max(this.#lastSampleS ?? 0, this.#lastEventS);
  }

  /** Pending samples go to closed chunks as far as they fill some (`all`: to the last), the rest to the tail. */
  #commitSamples(all: boolean): void {
    const { groups, rest } = cut(this.#pending, all);
    const sync = groups.length > 0 || this.#clock.nowS() - this.#syncedAtS >= syncEveryS;
    const links: StoredEvent[] = [];
    this.#db.transaction(sync, () => {
      let end = this.#end;
      for (const [i, group] of groups.entries()) {
        const stored = nextStored(end, this.#insertChunk(this.#chunks + i, group));
        this.#insertLink(stored);
        links.push(stored);
        end = { count: end.count + 1, hash: stored.hash };
      }
      if (groups.length > 0) this.#sql.clearTail.run(this.#run);
      const news = groups.length > 0 ? rest : this.#pending.slice(this.#committed);
      if (news.length > 0) this.#sql.addTail.run(this.#run, encodeChunk(news));
    });
    this.#wentOn(links);
    this.#chunks += groups.length;
    if (groups.length > 0) this.#pending = rest;
    this.#committed = this.#pending.length;
    if (sync) this.#synced();
    else this.#unsynced = true;
  }

  #keepLate(): void {
    for (const group of cut(this.#late, true, Number.POSITIVE_INFINITY).groups) {
      let stored: StoredEvent | null = null;
      this.#db.transaction(true, () => {
        stored = nextStored(this.#end, this.#insertChunk(-1 - this.#lateChunks, group));
        this.#insertLink(stored);
      });
      if (stored) this.#wentOn([stored]);
      this.#lateChunks += 1;
      this.#late = this.#late.slice(group.length);
      this.#synced();
    }
  }

  #insertChunk(chunk: number, group: readonly Sample[]): NewEvent {
    const body = encodeChunk(group);
    const times = group.map((s) => s.timeS);
    const [fromS, toS] = [Math.min(...times), Math.max(...times)];
    const count = group.length;
    this.#sql.addChunk.run(this.#run, chunk, fromS, toS, count, body);
    const data = { chunk, fromS: fromS + 0, toS: toS + 0, count, sha256: sha256(body) };
    const event = { timeS: Math.max(0, toS), event: samplesKept, emitter: '', note: '', data };
    return { id: `${samplesKept}-${chunk}`, event, who: 'bridge', wallAt: this.#clock.wallAt() };
  }

  #insertLink(stored: StoredEvent): void {
    const { index, id, event } = stored;
    this.#sql.addEvent.run(this.#run, index, id, event.timeS, canonical(stored));
  }

  #wentOn(links: readonly StoredEvent[]): void {
    for (const stored of links) {
      this.#end = { count: stored.index + 1, hash: stored.hash };
      this.#lastEventS = Math.max(this.#lastEventS, stored.event.timeS);
      if (stored.event.event === sealEvent) this.#sealed = true;
    }
  }

  #sync(): void {
    // An update that changes nothing still writes a frame; the commit then waits for the disk, for all before it too.
    this.#db.transaction(true, () => this.#sql.touch.run());
    this.#synced();
  }

  #synced(): void {
    this.#unsynced = false;
    this.#syncedAtS = this.#clock.nowS();
  }
}

function nextStored(end: ChainEnd, event: NewEvent): StoredEvent {
  return { ...nextLink(end.count, end.hash, event, sha256), event: event.event };
}

/** Groups that each fill a chunk, and what is left. */
function cut(samples: readonly Sample[], all: boolean, spanS = chunkSpanS): { groups: Sample[][]; rest: Sample[] } {
  const groups: Sample[][] = [];
  let from = 0;
  while (from < samples.length) {
    const firstS = samples[from]?.timeS ?? 0;
    let to = from;
    while (to < samples.length && to - from < chunkSamples && (samples[to]?.timeS ?? 0) - firstS < spanS) to++;
    const full = to < samples.length || to - from === chunkSamples;
    if (!full && !all) break;
    groups.push(samples.slice(from, to));
    from = to;
  }
  return { groups, rest: samples.slice(from) };
}
