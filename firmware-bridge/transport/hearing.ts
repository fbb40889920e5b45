import type { Refusals } from '../wire/refusals.ts';
import type { LinkEar } from './kept-link.ts';
import { type PackCounts, Patience } from './patience.ts';
import type { Deaf } from './reconnect.ts';

/** Tells a port that is open at the wrong speed from one that works; without it only silence can be told. */
export interface Hearing extends PackCounts {
  readonly bytes: number;
  /** Bytes that plain text does not hold. */
  readonly oddBytes: number;
}

/** Bytes but no pack, and this many of them: they mean nothing. */
const enoughBytes = 32;
/** At a wrong speed far more of the bytes than this are odd; in text, none. */
const oddShare = 0.1;

/** Judges an open link by what is heard of it. Time comes in; seconds, monotonic. */
export class Listener implements LinkEar {
  readonly #port: string;
  readonly #baud: number;
  readonly #hearing: Hearing | null;
  readonly #patience: Patience;
  readonly #refusals: Refusals | null;
  #bytes = 0;
  #oddBytes = 0;

  constructor(port: string, baud: number, hearing: Hearing | null, refusals: Refusals | null = null) {
    this.#port = port;
    this.#baud = baud;
    this.#hearing = hearing;
    this.#refusals = refusals;
    this.#patience = new Patience(hearing, () => {
      this.#bytes = hearing?.bytes ?? 0;
      this.#oddBytes = hearing?.oddBytes ?? 0;
    });
  }

  opened(nowS: number): void {
    this.#patience.opened(nowS);
  }

  heard(nowS: number): void {
    this.#patience.heard(nowS);
  }

  judge(nowS: number): Deaf | null {
    const params = { port: this.#port, baud: this.#baud };
    const seconds = this.#patience.silentS(nowS);
    if (seconds !== null) return { problem: { code: 'transport-silent', params: { ...params, seconds } }, dead: true };
    const lacksPacks = this.#patience.lacksPacks(nowS);
    const bytes = (this.#hearing?.bytes ?? 0) - this.#bytes;
    if (!lacksPacks || bytes < enoughBytes) return null;
    const odd = ((this.#hearing?.oddBytes ?? 0) - this.#oddBytes) / bytes;
    if (odd > oddShare) return { problem: { code: 'transport-wrong-baud', params: { ...params, bytes } }, dead: false };
    const worst = this.#refusals?.worst();
    const problem = { code: 'transport-no-pack', params: { ...params, bytes, ...worst?.params } };
    return { problem: worst ? { ...problem, why: worst.of } : problem, dead: false };
  }
}
