/** What the reader of the wire makes of what comes; the counters of `WireReader` are one. */
export interface PackCounts {
  readonly packs: number;
  readonly duplicates: number;
}

/** A board that was reset by the opening of its port, or a kit just let in, takes a moment before it speaks. */
const graceS = 5;
const silentAfterS = 3;
const unreadableAfterS = 3;

/** How long to wait for a first word, for the next one, and for one that makes a pack. Seconds, monotonic; time comes in. */
export class Patience {
  readonly #counts: PackCounts | null;
  readonly #marked: () => void;
  #quietFromS = 0;
  #quietAfterS = graceS;
  #unreadFromS = 0;
  #packs = 0;

  /** @param marked told at the opening and at each pack: what is counted until the next one begins anew. */
  constructor(counts: PackCounts | null, marked: () => void) {
    this.#counts = counts;
    this.#marked = marked;
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

  /** Seconds of a silence that is too long, or null. */
  silentS(nowS: number): number | null {
    const quietS = nowS - this.#quietFromS;
    return quietS >= this.#quietAfterS ? Math.round(quietS) : null;
  }

  /** For too long nothing made a pack; never when nobody counts them. */
  lacksPacks(nowS: number): boolean {
    if (!this.#counts) return false;
    if (this.#heard() > this.#packs) this.#mark(nowS);
    return nowS - this.#unreadFromS >= unreadableAfterS;
  }

  #heard(): number {
    return this.#counts ? this.#counts.packs + this.#counts.duplicates : 0;
  }

  #mark(nowS: number): void {
    this.#unreadFromS = nowS;
    this.#packs = this.#heard();
    this.#marked();
  }
}
