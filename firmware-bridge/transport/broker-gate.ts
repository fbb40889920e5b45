import { Buckets } from '../../src/core/rate.ts';
import type { TransportClock } from './transport.ts';

/** New connections of one address: a kit that loses its Wi-Fi comes back every second. */
const connects = { burst: 20, perS: 1 };
/** Publishes of one client: a kit sends ten a second, and what it kept for ten minutes as fast as it is let. */
const publishes = { burst: 1000, perS: 200 };
/** Packets of any kind on one connection: a kit that is paced by its publishes stays far below. */
const packets = { burst: 8000, perS: 1000 };
/** Of one address, so that one machine cannot take all places. */
export const mostOfOne = 8;

/** Counts connections, by address. This machine's own, the bridge among them, are counted apart from all others. */
export class Gate {
  readonly #most: number;
  readonly #own: ReadonlySet<string>;
  readonly #clock: TransportClock;
  readonly #connects = new Buckets(connects);
  readonly #open = new Map<string, number>();

  constructor(most: number, host: string, clock: TransportClock) {
    this.#most = most;
    this.#own = new Set(['127.0.0.1', '::1', '::ffff:127.0.0.1', host, `::ffff:${host}`]);
    this.#clock = clock;
  }

  /** Lets a connection in, and counts it until `left`; or says how many there may be. */
  enter(address: string): { readonly limit: number } | null {
    const own = this.#own.has(address);
    if (!own && this.#connects.take(address, this.#clock.nowS()) > 0) return { limit: connects.burst };
    const here = this.#open.get(address) ?? 0;
    if (!own && here >= mostOfOne) return { limit: mostOfOne };
    const alike = [...this.#open].filter(([other]) => this.#own.has(other) === own);
    if (alike.reduce((sum, [, count]) => sum + count, 0) >= this.#most) return { limit: this.#most };
    this.#open.set(address, here + 1);
    return null;
  }

  left(address: string): void {
    const count = (this.#open.get(address) ?? 1) - 1;
    if (count > 0) this.#open.set(address, count);
    else this.#open.delete(address);
  }
}

/**
 * Lets a client's publishes through at their rate, in their order. What waits is not lost: its acknowledgement waits,
 * and the broker reads no more from that client meanwhile.
 */
export class Pace {
  readonly #clock: TransportClock;
  readonly #publishes = new Buckets(publishes);
  readonly #packets = new Buckets(packets);
  readonly #waiting: (() => void)[] = [];
  #ended = false;

  constructor(clock: TransportClock) {
    this.#clock = clock;
  }

  publish(go: () => void): void {
    this.#waiting.push(go);
    if (this.#waiting.length === 1) this.#next();
  }

  /** False: more packets than any kit sends. */
  packets(count: number): boolean {
    const nowS = this.#clock.nowS();
    for (let i = 0; i < count; i++) if (this.#packets.take('', nowS) > 0) return false;
    return true;
  }

  end(): void {
    this.#ended = true;
    this.#waiting.length = 0;
  }

  #next(): void {
    while (!this.#ended && this.#waiting.length > 0) {
      const waitS = this.#publishes.take('', this.#clock.nowS());
      if (waitS > 0) {
        this.#clock.after(waitS, () => this.#next());
        return;
      }
      const go = this.#waiting[0];
      go?.();
      this.#waiting.shift();
    }
  }
}
