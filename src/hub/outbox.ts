import type { Link } from '../core/seal/chain.ts';
import { encodePart, type Have, type Leaf } from './part.ts';

/** A run as the outbox reads it: the rig's own record. */
export interface OutboxRun {
  readonly head: unknown;
  readonly startedAt: string;
  /** Entries of its chain so far. */
  count(): number;
  links(from: number, limit: number): readonly Link[];
  /** Bytes of a closed chunk of samples. */
  chunk(chunk: number): Uint8Array | null;
  /** The chunk that this entry of the chain closes, with its hash; null for any other entry. */
  chunkOf(link: Link): { chunk: number; sha256: string } | null;
  /** Files of the sealed record, the seal last; null: not sealed. */
  record(): readonly RecordFile[] | null;
}

export interface RecordFile {
  readonly file: string;
  readonly bytes: number;
  readonly sha256: string;
  read(at: number, length: number): Uint8Array;
}

export interface OutboxSource {
  /** Ids of all runs, oldest first. */
  runIds(): readonly string[];
  run(runId: string): OutboxRun | null;
}

export interface Outgoing {
  readonly leaf: Leaf;
  readonly payload: Buffer;
}

/** Per run: what the firm has, by its own word. Kept over restarts. */
export type Kept = Readonly<Record<string, Omit<Have, 'v' | 'run_id'>>>;

/** Entries in one message. */
const linksAtOnce = 50;
const pieceBytes = 128 * 1024;
/** More than a message has beside its body: its topic and its head line. */
const headBytes = 1024;
/**
 * Sent, and the firm has not said within this (seconds) that it has it: sent again; each further time after twice as
 * long, up to the second, so that a hub that is away for days does not find it a thousand times at the broker.
 */
const againAfterS = 120;
const againAtMostS = 960;

interface Place {
  /** The next entry to send, and whether the chunk that it closes went out already. */
  link: number;
  chunkSent: boolean;
  /** Place in the sealed record: file and byte; null before its seal. */
  file: number;
  at: number;
  had: Have;
  sinceS: number;
  againS: number;
}

/**
 * What still has to go to the firm. It holds nothing of its own: the rig's record is the outbox, and this is the place
 * in it. So nothing has to be thinned or dropped however long the link is away, and a restart only sends again what the
 * firm had not acknowledged.
 */
export class Outbox {
  readonly #source: OutboxSource;
  readonly #places = new Map<string, Place>();

  constructor(source: OutboxSource, kept: Kept) {
    this.#source = source;
    for (const [runId, k] of Object.entries(kept))
      this.#places.set(runId, freshPlace({ v: 1, run_id: runId, ...k }, 0));
  }

  /**
   * The next message, or null when all is sent that there is. Events go before samples before the sealed record.
   * `largest`: bytes of a message that the broker takes; what can be cut is cut to it.
   */
  next(nowS: number, largest = Number.POSITIVE_INFINITY): Outgoing | null {
    for (const runId of this.#source.runIds()) {
      const place = this.#place(runId, nowS);
      if (place.had.record !== 'none') continue;
      const run = this.#source.run(runId);
      const out = run && (this.#chain(runId, run, place, nowS) ?? this.#record(runId, run, place, nowS, largest));
      if (out) return out;
    }
    return null;
  }

  /** The firm told what it has. Returns whether that is more than was known. */
  confirm(have: Have, nowS: number): boolean {
    const place = this.#place(have.run_id, nowS);
    const news = have.links > place.had.links || have.record !== place.had.record;
    if (!news) return false;
    place.had = { ...have, links: Math.max(have.links, place.had.links) };
    place.sinceS = nowS;
    place.againS = againAfterS;
    // What the firm has already need not be sent (a restart of the rig).
    if (place.link < place.had.links) Object.assign(place, { link: place.had.links, chunkSent: false });
    return true;
  }

  /** Sends again from where the firm is, for every run that it stopped telling of. Returns whether there was one. */
  rewindStalled(nowS: number): boolean {
    let wasStalled = false;
    for (const place of this.#places.values()) {
      if (!isSentAhead(place) || nowS - place.sinceS <= place.againS) continue;
      const againS = Math.min(2 * place.againS, againAtMostS);
      Object.assign(place, freshPlace(place.had, nowS), { againS });
      wasStalled = true;
    }
    return wasStalled;
  }

  /** More was sent than the firm has said to have. */
  get isAhead(): boolean {
    return [...this.#places.values()].some(isSentAhead);
  }

  /** Sends again from where the firm is, at once: what is under way is known to be lost. */
  rewind(nowS: number): void {
    for (const place of this.#places.values())
      if (isSentAhead(place)) Object.assign(place, freshPlace(place.had, nowS));
  }

  /** What the firm has, to be kept over a restart. */
  kept(): Kept {
    return Object.fromEntries(
      [...this.#places].map(([runId, { had }]) => [runId, { links: had.links, record: had.record }]),
    );
  }

  /** Entries of all runs that the firm has not said to have. */
  waiting(): number {
    let waiting = 0;
    for (const runId of this.#source.runIds()) {
      const had = this.#places.get(runId)?.had;
      if (had && had.record !== 'none') continue;
      waiting += Math.max(0, (this.#source.run(runId)?.count() ?? 0) - (had?.links ?? 0));
    }
    return waiting;
  }

  #place(runId: string, nowS: number): Place {
    let place = this.#places.get(runId);
    if (!place) {
      place = freshPlace({ v: 1, run_id: runId, links: 0, record: 'none' }, nowS);
      this.#places.set(runId, place);
    }
    return place;
  }

  #chain(runId: string, run: OutboxRun, place: Place, nowS: number): Outgoing | null {
    if (place.link >= run.count()) return null;
    const links = run.links(place.link, linksAtOnce);
    const first = links[0];
    if (!first) return null;
    if (place.link === place.had.links) place.sinceS = nowS;
    const closes = run.chunkOf(first);
    if (closes && !place.chunkSent) {
      const body = run.chunk(closes.chunk);
      place.chunkSent = true;
      if (body) {
        const { startedAt } = run;
        const part = { kind: 'samples', runId, chunk: closes.chunk, startedAt, sha256: closes.sha256, body } as const;
        return { leaf: 'samples', payload: encodePart(part) };
      }
    }
    // Up to the next entry whose chunk has to go first.
    const until = links.findIndex((link, i) => i > 0 && run.chunkOf(link) !== null);
    const sent = until < 0 ? links : links.slice(0, until);
    place.link += sent.length;
    place.chunkSent = false;
    const part = { kind: 'events', runId, from: first.index, head: run.head, links: sent } as const;
    return { leaf: 'events', payload: encodePart(part) };
  }

  #record(runId: string, run: OutboxRun, place: Place, nowS: number, largest: number): Outgoing | null {
    const files = run.record();
    const file = files?.[place.file];
    if (!file) return null;
    if (place.file === 0 && place.at === 0) place.sinceS = nowS;
    const at = place.at;
    const body = file.read(at, Math.min(pieceBytes, Math.max(headBytes, largest - headBytes)));
    place.at += body.length;
    if (place.at >= file.bytes || body.length === 0) Object.assign(place, { file: place.file + 1, at: 0 });
    const part = { kind: 'record', runId, file: file.file, at, of: file.bytes, sha256: file.sha256, body } as const;
    return { leaf: 'record', payload: encodePart(part) };
  }
}

/** More was sent than the firm has said to have. */
function isSentAhead(place: Place): boolean {
  return (
    place.link > place.had.links || place.chunkSent || ((place.file > 0 || place.at > 0) && place.had.record === 'none')
  );
}

function freshPlace(had: Have, sinceS: number): Place {
  return { link: had.links, chunkSent: false, file: 0, at: 0, had, sinceS, againS: againAfterS };
}
