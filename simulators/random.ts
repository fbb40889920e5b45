/**
 * Seeded pseudo-random numbers, so that a run can be made again bit for bit. The generator is `sfc32` (Chris
 * Doty-Humphrey's small fast counting generator, from memory), seeded through a 32-bit mixing hash of a text.
 */
export class Random {
  #a: number;
  #b: number;
  #c: number;
  #counter = 1;
  #spare: number | null = null;
  readonly #name: string;

  constructor(seed: string) {
    this.#name = seed;
    this.#a = hash(seed, 0x9e3779b9);
    this.#b = hash(seed, 0x85ebca6b);
    this.#c = hash(seed, 0xc2b2ae35);
    for (let i = 0; i < 16; i += 1) this.uniform();
  }

  /** An independent stream: drawing more from one part of a scenario leaves the others as they were. */
  fork(label: string): Random {
    return new Random(`${this.#name}/${label}`);
  }

  /** [0, 1) */
  uniform(): number {
    const t = (this.#a + this.#b + this.#counter) | 0;
    this.#counter = (this.#counter + 1) | 0;
    this.#a = this.#b ^ (this.#b >>> 9);
    this.#b = (this.#c + (this.#c << 3)) | 0;
    this.#c = ((this.#c << 21) | (this.#c >>> 11)) + t;
    this.#c |= 0;
    return (t >>> 0) / 4294967296;
  }

  between(low: number, high: number): number {
    return low + (high - low) * this.uniform();
  }

  /** Uniform in the logarithm: for sizes that span decades. Both bounds above 0. */
  logBetween(low: number, high: number): number {
    return low * (high / low) ** this.uniform();
  }

  /** Whole number, both bounds included. */
  whole(low: number, high: number): number {
    return low + Math.floor(this.uniform() * (high - low + 1));
  }

  chance(probability: number): boolean {
    return this.uniform() < probability;
  }

  pick<T>(items: readonly [T, ...T[]]): T {
    return items[Math.floor(this.uniform() * items.length)] ?? items[0];
  }

  /** Standard normal, by the polar method (Marsaglia and Bray 1964). */
  normal(): number {
    if (this.#spare !== null) {
      const spare = this.#spare;
      this.#spare = null;
      return spare;
    }
    for (;;) {
      const u = 2 * this.uniform() - 1;
      const v = 2 * this.uniform() - 1;
      const s = u * u + v * v;
      if (s > 0 && s < 1) {
        const f = Math.sqrt((-2 * Math.log(s)) / s);
        this.#spare = v * f;
        return u * f;
      }
    }
  }

  /** Waiting time of a Poisson process with the given mean. */
  waiting(mean: number): number {
    return -mean * Math.log(1 - this.uniform());
  }

  shuffled<T>(items: readonly T[]): T[] {
    const out = [...items];
    for (let i = out.length - 1; i > 0; i -= 1) {
      const j = this.whole(0, i);
      const a = out[i];
      const b = out[j];
      if (a !== undefined && b !== undefined) {
        out[i] = b;
        out[j] = a;
      }
    }
    return out;
  }
}

/** FNV-1a over the text (public domain), then the 32-bit finaliser of MurmurHash3 (public domain); both from memory. */
function hash(text: string, salt: number): number {
  let h = (0x811c9dc5 ^ salt) | 0;
  for (let i = 0; i < text.length; i += 1) h = Math.imul(h ^ text.charCodeAt(i), 0x01000193);
  h = Math.imul(h ^ (h >>> 16), 0x85ebca6b);
  h = Math.imul(h ^ (h >>> 13), 0xc2b2ae35);
  return (h ^ (h >>> 16)) | 0;
}
