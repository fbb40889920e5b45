import type { Sample } from '../../src/core/quantity/sample.ts';
import { encodeLine } from '../wire/encode.ts';
import type { Transport, TransportClock, TransportListener, TransportState } from './transport.ts';

/** Bytes with the time at which they came, seconds on any clock of their own. */
export interface TimedBytes {
  readonly atS: number;
  readonly bytes: Uint8Array;
}

export interface ReplayOptions {
  /** For people: `replay of run-17`. */
  readonly name: string;
  /** In time order. Opened anew, it is read from its start. */
  readonly source: Iterable<TimedBytes> | AsyncIterable<TimedBytes>;
  /** 1 is as it was, 1000 a thousand times as fast; `all` as fast as the listener takes it. */
  readonly speed: number | 'all';
  readonly clock: TransportClock;
  /** Where recorded second 0 lies on that clock; left out, the first chunk comes at once. */
  readonly zeroS?: number;
}

/**
 * A raw log or a recording as a transport. The `atS` that it gives is recorded time, laid on the bridge's clock: at a speed over 1 it runs ahead of the bridge's clock, so that kit time and arrival keep their proportion.
 */
export function replayTransport(options: ReplayOptions): Transport {
  return new Replay(options);
}

/** Rows of a recording -> lines of the wire, as a kit named `kit` would have sent them; row times become its `up`. */
export function* sampleLines(samples: Iterable<Sample>, kit: string, boot = 1): Generator<TimedBytes> {
  let seq = 0;
  for (const sample of samples)
    yield { atS: sample.timeS, bytes: encodeLine({ kit, boot, seq: seq++, upS: sample.timeS, values: sample }) };
}

/** With `all`, the listener gets at most this many chunks before others get their turn. */
const turn = 256;

class Replay implements Transport {
  readonly name: string;
  readonly #options: ReplayOptions;
  #listener: TransportListener | null = null;
  #state: TransportState = { kind: 'closed' };
  /** Wakes the pause under way, so that `close` need not wait for it. */
  #wake: (() => void) | null = null;
  #playing: Promise<void> = Promise.resolve();

  constructor(options: ReplayOptions) {
    this.name = options.name;
    this.#options = options;
  }

  get state(): TransportState {
    return this.#state;
  }

  open(listener: TransportListener): Promise<void> {
    if (this.#listener === null) {
      this.#listener = listener;
      this.#tell({ kind: 'opening' });
      this.#tell({ kind: 'open' });
      this.#playing = this.#play(listener);
    }
    return Promise.resolve();
  }

  /** Nothing can be told to a recording. */
  send(): Promise<boolean> {
    return Promise.resolve(false);
  }

  async close(): Promise<void> {
    if (this.#listener === null) return;
    this.#tell({ kind: 'closed' });
    this.#listener = null;
    this.#wake?.();
    await this.#playing;
  }

  async #play(listener: TransportListener): Promise<void> {
    const { clock, source, speed } = this.#options;
    const openS = clock.nowS();
    let firstS: number | null = null;
    let inTurn = 0;
    try {
      for await (const { atS, bytes } of source) {
        firstS ??= atS;
        const zeroS = this.#options.zeroS ?? openS - firstS;
        const sinceS = Math.max(0, atS - firstS);
        if (speed === 'all') {
          if (inTurn++ % turn === 0) await this.#pause(0);
        } else {
          const aheadS = zeroS + firstS + sinceS / speed - clock.nowS();
          if (aheadS > 0) await this.#pause(aheadS);
        }
        if (this.#listener !== listener) return;
        listener.bytes(bytes, zeroS + firstS + sinceS);
      }
      if (this.#listener === listener) this.#tell({ kind: 'ended' });
    } catch (error) {
      const what = error instanceof Error ? error.message : String(error);
      const problem = { code: 'transport-replay-failed', params: { source: this.name, what } };
      if (this.#listener === listener) this.#tell({ kind: 'silent', problem });
    }
  }

  #pause(seconds: number): Promise<void> {
    return new Promise((resolve) => {
      const cancel = this.#options.clock.after(seconds, resolve);
      this.#wake = () => {
        cancel();
        resolve();
      };
    });
  }

  #tell(state: TransportState): void {
    this.#state = state;
    this.#listener?.state(state);
  }
}
