import type { LinkEar } from './kept-link.ts';
import type { Deaf } from './reconnect.ts';

/**
 * What the reader of the wire makes of the bytes: the counters of `WireReader` are one. It tells a port that is open at
 * the wrong speed from one that works; without it only silence can be told.
 */
export interface Hearing {
  readonly bytes: number;
  /** Bytes that plain text does not hold. */
  readonly oddBytes: number;
  readonly packs: number;
  readonly duplicates: number;
}

/** A board that was reset by the opening of its port takes a moment before it speaks. */
const graceS = 5;
const silentAfterS = 3;
/** Bytes but no pack for this long, and this many of them: they mean nothing. */
const unreadableAfterS = 3;
const enoughBytes = 32;
/** At a wrong speed far more of the bytes than this are odd; in text, none. */
const oddShare = 0.1;

/** Judges an open link by what is heard of it. Time comes in; seconds, monotonic. */
export class Listener implements LinkEar {
  readonly #port: string;
  readonly #baud: number;
  readonly #hearing: Hearing | null;
  #quietFromS = 0;
  #quietAfterS = graceS;
  #unreadFromS = 0;
  #bytes = 0;
  #oddBytes = 0;
  #packs = 0;

  constructor(port: string, baud: number, hearing: Hearing | null) {
    this.#port = port;
    this.#baud = baud;
    this.#hearing = hearing;
  }

  opened(nowS: number): void {
    this.#quietFromS = nowS;
    this.#quietAfterS = graceS;
    this.#mark(nowS);
  }

  heard(nowS: number): void {
    this.#quietFromS = nowS;
    this.#quietAfterS = silentAfterS;
  }

  judge(nowS: number): Deaf | null {
    const seconds = Math.round(nowS - this.#quietFromS);
    const params = { port: this.#port, baud: this.#baud };
    if (nowS - this.#quietFromS >= this.#quietAfterS)
      return { problem: { code: 'transport-silent', params: { ...params, seconds } }, dead: true };
    const heard = this.#hearing;
    if (!heard) return null;
    if (heard.packs + heard.duplicates > this.#packs) this.#mark(nowS);
    const bytes = heard.bytes - this.#bytes;
    if (nowS - this.#unreadFromS < unreadableAfterS || bytes < enoughBytes) return null;
    const odd = (heard.oddBytes - this.#oddBytes) / bytes;
    const code = odd > oddShare ? 'transport-wrong-baud' : 'transport-no-pack';
    return { problem: { code, params: { ...params, bytes } }, dead: false };
  }

  #mark(nowS: number): void {
    this.#unreadFromS = nowS;
    this.#bytes = this.#hearing?.bytes ?? 0;
    this.#oddBytes = this.#hearing?.oddBytes ?? 0;
    this.#packs = (this.#hearing?.packs ?? 0) + (this.#hearing?.duplicates ?? 0);
  }
}
