/** What a sequence number is, set against those that came before it in the same start of the kit. */
export type Place =
  /** The first, or one more than the highest. */
  | { readonly kind: 'next' }
  /** Higher than the next: `missing` packs lie between. */
  | { readonly kind: 'gap'; readonly missing: number }
  /** Lower than the highest, and was missing. */
  | { readonly kind: 'fills' }
  /** New, but lower than the first that came: from before the bridge listened, so it was never counted as missing. */
  | { readonly kind: 'before' }
  | { readonly kind: 'seen' };

const next: Place = { kind: 'next' };
const fills: Place = { kind: 'fills' };
const before: Place = { kind: 'before' };
const seen: Place = { kind: 'seen' };

/** More holes than this are not remembered one by one; the oldest is then taken as filled. */
const mostHoles = 4096;
/**
 * `up` is remembered for this many of the newest packs, to tell a doubled pack from one of a new start: ten minutes at 20
 * packs a second, which a kit may have kept and sends again when it is not sure that they came.
 */
const recent = 16384;

/**
 * Which sequence numbers of one start of one kit have come: runs without holes, in order. Exact, and small, because holes
 * are few; late packs that fill an old hole are known for new, doubled ones for doubled.
 */
export class Sequence {
  readonly #from: number[] = [];
  readonly #to: number[] = [];
  readonly #recentSeq = new Float64Array(recent).fill(-1);
  readonly #recentUp = new Float64Array(recent);
  #first = 0;
  highestUpS = 0;

  place(seq: number): Place {
    const last = this.#to.length - 1;
    const highest = this.#to[last];
    if (highest === undefined || seq === highest + 1) return next;
    if (seq > highest) return { kind: 'gap', missing: seq - highest - 1 };
    if (seq >= (this.#from[0] ?? 0) && seq <= (this.#to[this.#runAt(seq)] ?? -1)) return seen;
    return seq < this.#first ? before : fills;
  }

  /** `up` of this very pack when it came, or null when it is too long ago (or never came). */
  upOf(seq: number): number | null {
    const slot = seq % recent;
    return this.#recentSeq[slot] === seq ? (this.#recentUp[slot] ?? null) : null;
  }

  add(seq: number, upS: number): void {
    const slot = seq % recent;
    this.#recentSeq[slot] = seq;
    this.#recentUp[slot] = upS;
    const last = this.#to.length - 1;
    const highest = this.#to[last];
    if (highest === undefined) this.#first = seq;
    if (highest === undefined || seq > highest) {
      if (seq === (highest ?? -2) + 1) this.#to[last] = seq;
      else this.#insert(last + 1, seq);
      this.highestUpS = upS;
    } else this.#fill(seq);
    if (this.#to.length > mostHoles) this.#forgetOldestHole();
  }

  /** Index of the last run that begins at or below `seq`. */
  #runAt(seq: number): number {
    let low = 0;
    let high = this.#from.length - 1;
    while (low < high) {
      const middle = (low + high + 1) >> 1;
      if ((this.#from[middle] ?? 0) <= seq) low = middle;
      else high = middle - 1;
    }
    return low;
  }

  #insert(at: number, seq: number): void {
    this.#from.splice(at, 0, seq);
    this.#to.splice(at, 0, seq);
  }

  #fill(seq: number): void {
    const first = seq < (this.#from[0] ?? 0);
    const run = first ? -1 : this.#runAt(seq);
    if (seq <= (this.#to[run] ?? -1)) return;
    const joinsBelow = this.#to[run] === seq - 1;
    const joinsAbove = this.#from[run + 1] === seq + 1;
    if (joinsBelow && joinsAbove) {
      this.#to[run] = this.#to[run + 1] ?? seq;
      this.#from.splice(run + 1, 1);
      this.#to.splice(run + 1, 1);
    } else if (joinsBelow) this.#to[run] = seq;
    else if (joinsAbove) this.#from[run + 1] = seq;
    else this.#insert(run + 1, seq);
  }

  #forgetOldestHole(): void {
    this.#from.splice(1, 1);
    this.#to.splice(0, 1);
  }
}
