import { InfluxDB, type IPoint } from 'influx';
import type { Message } from '../core/message/message.ts';
import { channels } from '../core/quantity/channels.ts';
import type { Sample } from '../core/quantity/sample.ts';

/** A server that speaks the Influx line protocol. */
export interface SeriesAt {
  /** `http://127.0.0.1:8086`, or `https:`; user and password in it are used and never shown. */
  readonly url: string;
  readonly database: string;
  /** After so long (seconds) the server is taken to have on its disk what it acknowledged; 30 unless told. */
  readonly settleS?: number;
}

/** Chunks whose samples are not in the time series yet, oldest first. */
export interface UnwrittenChunks {
  unwritten(limit: number): readonly UnwrittenChunk[];
  written(chunks: readonly UnwrittenChunk[]): void;
  /** They were not taken: free for whoever tries next. */
  release(chunks: readonly UnwrittenChunk[]): void;
}

export interface UnwrittenChunk {
  readonly runId: string;
  readonly rig: string;
  readonly chunk: number;
  readonly startedAt: string;
  readonly body: Uint8Array;
}

export const measurement = 'limpid';
/** Points in one request; the servers were measured at ten thousand. */
const pointsAtOnce = 10_000;
const chunksAtOnce = 16;
const nothing = new Uint8Array();

export interface SeriesCounters {
  readonly chunks: number;
  readonly points: number;
  readonly failures: number;
}

/**
 * Writes samples into the time series, from the hub's own disk, so that a server that is away costs nothing but time. A
 * chunk that was half written is written again: the same rig, run and instant is the same point. A server may say yes
 * before its own disk has it; so when it goes away, what it took shortly before is written again, too.
 */
export class SeriesWriter {
  readonly #influx: InfluxDB;
  readonly #chunks: UnwrittenChunks;
  readonly #decode: (body: Uint8Array) => readonly Sample[];
  readonly #told: (problem: Message | null) => void;
  readonly #at: SeriesAt;
  #counters = { chunks: 0, points: 0, failures: 0 };
  readonly #nowS: () => number;
  readonly #settleS: number;
  /** Acknowledged, and not yet surely on the server's disk. */
  #settling: { readonly chunks: readonly UnwrittenChunk[]; readonly atS: number }[] = [];
  #busy: Promise<void> | null = null;
  #ready = false;

  constructor(
    at: SeriesAt,
    chunks: UnwrittenChunks,
    decode: (body: Uint8Array) => readonly Sample[],
    told: (problem: Message | null) => void,
    nowS: () => number,
  ) {
    this.#at = at;
    this.#nowS = nowS;
    this.#settleS = at.settleS ?? 30;
    this.#chunks = chunks;
    this.#decode = decode;
    this.#told = told;
    this.#influx = new InfluxDB(hostOf(at));
  }

  get counters(): SeriesCounters {
    return this.#counters;
  }

  /** Write what waits; returns when nothing does, or the server did not take it. One at a time. */
  async work(): Promise<void> {
    this.#busy ??= this.#all().finally(() => {
      this.#busy = null;
    });
    await this.#busy;
  }

  async #all(): Promise<void> {
    for (;;) {
      // In between, too: with much to catch up this goes on for longer than a claim lasts.
      this.#settle();
      const chunks = this.#chunks.unwritten(chunksAtOnce);
      if (chunks.length === 0) return;
      if (!(await this.#write(chunks))) {
        this.#chunks.release([...chunks, ...this.#settling.flatMap((s) => s.chunks)]);
        this.#settling = [];
        return;
      }
      // Their bodies are in the store of arrivals; here the names are enough.
      this.#settling.push({ chunks: chunks.map((c) => ({ ...c, body: nothing })), atS: this.#nowS() });
      this.#counters.chunks += chunks.length;
    }
  }

  #settle(): void {
    const untilS = this.#nowS() - this.#settleS;
    for (const { chunks, atS } of this.#settling) if (atS <= untilS) this.#chunks.written(chunks);
    this.#settling = this.#settling.filter(({ atS }) => atS > untilS);
  }

  async #write(chunks: readonly UnwrittenChunk[]): Promise<boolean> {
    const points = chunks.flatMap((chunk) => pointsOf(chunk, this.#decode));
    try {
      // Where the server makes databases by itself, or knows none, this says so and does no harm.
      if (!this.#ready) await this.#influx.createDatabase(this.#at.database).catch(() => undefined);
      this.#ready = true;
      for (let i = 0; i < points.length; i += pointsAtOnce)
        await this.#influx.writePoints(points.slice(i, i + pointsAtOnce), { precision: 'ms' });
      this.#counters.points += points.length;
      this.#told(null);
      return true;
    } catch (error) {
      this.#counters.failures += 1;
      this.#ready = false;
      // The message alone: the error object carries the login.
      const detail = error instanceof Error ? error.message.slice(0, 200) : 'no reason given';
      this.#told({ code: 'hub-series-away', params: { url: shown(this.#at.url), detail } });
      return false;
    }
  }
}

/** Points of a chunk: tags rig and run, a field for each column of a recording, at the wall clock of the run's start. */
export function pointsOf(chunk: UnwrittenChunk, decode: (body: Uint8Array) => readonly Sample[]): IPoint[] {
  const startMs = Date.parse(chunk.startedAt);
  if (!Number.isFinite(startMs)) return [];
  const tags = { rig: chunk.rig, run: asTag(chunk.runId) };
  return decode(chunk.body).flatMap((sample) => {
    const fields: Record<string, number> = {};
    for (const { key, column } of channels) {
      const value = sample[key];
      if (value !== null) fields[column] = value;
    }
    if (Object.keys(fields).length === 0) return [];
    return [{ measurement, tags, fields, timestamp: Math.round(startMs + sample.timeS * 1000) }];
  });
}

/** A tag must not be empty nor end in a backslash: a server refuses the whole batch for it. */
function asTag(text: string): string {
  return text.replaceAll('\\', '/').replaceAll('\n', ' ') || 'none';
}

function hostOf({ url, database }: SeriesAt) {
  const { protocol, hostname, port, username, password, pathname } = new URL(url);
  const secure = protocol === 'https:';
  return {
    protocol: secure ? ('https' as const) : ('http' as const),
    host: hostname,
    port: port === '' ? (secure ? 443 : 8086) : Number(port),
    path: pathname === '/' ? '' : pathname,
    database,
    ...(username === '' ? {} : { username: decodeURIComponent(username), password: decodeURIComponent(password) }),
  };
}

function shown(url: string): string {
  const { protocol, host } = new URL(url);
  return `${protocol}//${host}`;
}
