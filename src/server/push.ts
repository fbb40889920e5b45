import { randomBytes } from 'node:crypto';
import type { Writable } from 'node:stream';
import type { BridgePort } from './port.ts';
import type { LiveMessage } from './protocol.ts';

/**
 * The live stream. One bounded ring of encoded trace messages serves all pages, each page keeps only its place in it:
 * a slow page therefore costs no memory, and one that falls off the end of the ring is cut (it comes back, is told to
 * refetch, and goes on). Of the views only the newest is kept, since each one stands alone. Beats are never kept.
 */
export interface PushLimits {
  /** Trace messages held for pages that come back; about ten minutes at 10 Hz. */
  readonly heldMessages: number;
  readonly heldBytes: number;
  /** Beats (seconds) for which a page may take nothing before it is cut. */
  readonly patienceBeats: number;
  readonly pages: number;
}

const usual: PushLimits = { heldMessages: 8192, heldBytes: 8_000_000, patienceBeats: 10, pages: 64 };

interface Frame {
  readonly seq: number;
  readonly bytes: Buffer;
}

interface Page {
  readonly out: Writable;
  /** Index, over all trace frames ever made, of the next one to send. */
  next: number;
  viewSeq: number;
  blocked: boolean;
  blockedBeats: number;
}

export interface Push {
  /** `<epoch>.<seq>`: a stream resumed after this id misses nothing that is published later. */
  readonly at: () => string;
  /** False when there are too many pages already. */
  readonly attach: (out: Writable, after: string | undefined) => boolean;
  readonly pages: number;
  readonly close: () => void;
}

function encode(type: string, message: LiveMessage, id?: string): Buffer {
  const idLine = id === undefined ? '' : `id: ${id}\n`;
  return Buffer.from(`${idLine}event: ${type}\ndata: ${JSON.stringify(message)}\n\n`);
}

export function createPush(bridge: Pick<BridgePort, 'listen'>, asked: Partial<PushLimits> = {}): Push {
  const limits = { ...usual, ...asked };
  const epoch = randomBytes(6).toString('hex');
  const pages = new Set<Page>();
  let frames: Frame[] = [];
  /** Frames of the array that are already dropped, and how many were dropped before the array began. */
  let head = 0;
  let dropped = 0;
  let lastDroppedSeq = 0;
  let heldBytes = 0;
  let seq = 0;
  let view: Frame | null = null;

  const idOf = (n: number) => `${epoch}.${n}`;
  const frameAt = (index: number) => frames[index - dropped + head];
  const end = () => dropped + frames.length - head;

  function trim(): void {
    while (frames.length - head > limits.heldMessages || (heldBytes > limits.heldBytes && frames.length - head > 1)) {
      const gone = frames[head];
      if (!gone) break;
      lastDroppedSeq = gone.seq;
      heldBytes -= gone.bytes.length;
      head += 1;
      dropped += 1;
    }
    if (head > 1024 && head * 2 > frames.length) {
      frames = frames.slice(head);
      head = 0;
    }
  }

  function cut(page: Page): void {
    pages.delete(page);
    page.out.destroy();
  }

  function write(page: Page, bytes: Buffer): void {
    if (page.out.write(bytes)) return;
    page.blocked = true;
    page.blockedBeats = 0;
  }

  /** Send this page what it has not had, in order, as far as it takes it. */
  function pump(page: Page): void {
    while (!page.blocked && pages.has(page)) {
      if (page.next < dropped) return cut(page);
      const frame = frameAt(page.next);
      const newView = view !== null && view.seq > page.viewSeq ? view : null;
      if (newView && (!frame || newView.seq < frame.seq)) {
        page.viewSeq = newView.seq;
        write(page, newView.bytes);
      } else if (frame) {
        page.next += 1;
        write(page, frame.bytes);
      } else return;
    }
  }

  function beat(message: LiveMessage): void {
    const bytes = encode('beat', message);
    for (const page of pages) {
      if (!page.blocked) write(page, bytes);
      else if (++page.blockedBeats > limits.patienceBeats) cut(page);
    }
  }

  const stop = bridge.listen((message) => {
    if (message.type === 'beat') return beat(message);
    seq += 1;
    const told = message.type === 'refetch' ? { ...message, from: idOf(seq) } : message;
    const frame = { seq, bytes: encode(message.type, told, idOf(seq)) };
    if (message.type === 'view') view = frame;
    else {
      frames.push(frame);
      heldBytes += frame.bytes.length;
      trim();
    }
    for (const page of pages) pump(page);
  });

  /** Where a page that had `after` goes on; null when that place is not held. */
  function placeOf(after: string): { next: number; viewSeq: number } | null {
    const [ofEpoch, digits = '', more] = after.split('.');
    if (ofEpoch !== epoch || more !== undefined || !/^\d{1,15}$/.test(digits)) return null;
    const had = Number(digits);
    if (had > seq || had < lastDroppedSeq) return null;
    let lo = dropped;
    let hi = end();
    while (lo < hi) {
      const mid = (lo + hi) >>> 1;
      if ((frameAt(mid)?.seq ?? Number.POSITIVE_INFINITY) > had) hi = mid;
      else lo = mid + 1;
    }
    return { next: lo, viewSeq: had };
  }

  return {
    at: () => idOf(seq),
    get pages() {
      return pages.size;
    },
    attach(out, after) {
      if (pages.size >= limits.pages) return false;
      const place = after === undefined ? null : placeOf(after);
      const page: Page = { out, next: end(), viewSeq: seq, blocked: false, blockedBeats: 0, ...place };
      pages.add(page);
      out.on('drain', () => {
        page.blocked = false;
        pump(page);
      });
      out.on('close', () => pages.delete(page));
      out.on('error', () => cut(page));
      if (place === null) {
        const why = after === undefined ? 'first-visit' : 'place-not-held';
        write(page, encode('refetch', { type: 'refetch', from: idOf(seq), why }, idOf(seq)));
      } else write(page, Buffer.from(': resumed\n\n'));
      pump(page);
      return true;
    },
    close() {
      stop();
      for (const page of pages) page.out.end();
      pages.clear();
    },
  };
}
