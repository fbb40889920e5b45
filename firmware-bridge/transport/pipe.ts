import type { PipePeer } from './pipe-peer.ts';
import type { Transport, TransportClock, TransportListener, TransportState } from './transport.ts';

/** A kit in the same process: no cable, no pseudo-terminal, no broker, the same bytes. */
export function pipeTransport(name: string, peer: PipePeer, clock: TransportClock): Transport {
  return new Pipe(name, peer, clock);
}

class Pipe implements Transport {
  readonly name: string;
  readonly #peer: PipePeer;
  readonly #clock: TransportClock;
  #listener: TransportListener | null = null;
  #state: TransportState = { kind: 'closed' };

  constructor(name: string, peer: PipePeer, clock: TransportClock) {
    this.name = name;
    this.#peer = peer;
    this.#clock = clock;
  }

  get state(): TransportState {
    return this.#state;
  }

  open(listener: TransportListener): Promise<void> {
    if (this.#listener === null) {
      this.#listener = listener;
      this.#tell({ kind: 'opening' });
      this.#tell({ kind: 'open' });
      this.#peer.start((bytes) => this.#listener?.bytes(bytes, this.#clock.nowS()));
    }
    return Promise.resolve();
  }

  send(bytes: Uint8Array): Promise<boolean> {
    if (this.#listener === null) return Promise.resolve(false);
    this.#peer.fromBridge(bytes);
    return Promise.resolve(true);
  }

  close(): Promise<void> {
    if (this.#listener !== null) {
      this.#peer.stop();
      this.#tell({ kind: 'closed' });
      this.#listener = null;
    }
    return Promise.resolve();
  }

  #tell(state: TransportState): void {
    this.#state = state;
    this.#listener?.state(state);
  }
}
