import type { Message } from '../../src/core/message/message.ts';

/**
 * Where bytes of a kit come from: a serial port, a replayed recording, the in-process pipe of the simulated rig, a
 * broker. One interface, one contract suite (tests/contracts/transport.contract.ts).
 *
 * A transport never throws for what the world does (cable out, port busy): it tells it as a state with a plain message,
 * and tries again for ever until `close`.
 */
export type TransportState =
  /** Not started, or closed by us. */
  | { readonly kind: 'closed' }
  | { readonly kind: 'opening' }
  /** Bytes are coming, or may come at any moment. */
  | { readonly kind: 'open' }
  /** Open, but no byte for longer than the kit's rate allows, or bytes of which no pack can be made. */
  | { readonly kind: 'silent'; readonly problem: TransportProblem }
  /** Not open; will try again in `retryInS`. */
  | { readonly kind: 'waiting'; readonly retryInS: number; readonly problem: TransportProblem }
  /** A finite source (replay) came to its end. */
  | { readonly kind: 'ended' };

/** What is wrong, to what, and what to do: a code of message/codes.ts with its parameters. */
export interface TransportProblem {
  readonly code: string;
  readonly params: Readonly<Record<string, string | number>>;
  /** What `params.why` says, for a page in another language. */
  readonly why?: Message;
}

export interface TransportListener {
  /** Bytes as they came, any split; `atS` on the bridge's monotonic clock, taken at arrival. */
  bytes(chunk: Uint8Array, atS: number): void;
  /** A whole message of a broker, in place of bytes: `topic` says what it is. Other transports never call it. */
  message?(topic: string, payload: Uint8Array, atS: number): void;
  state(state: TransportState): void;
}

export interface Transport {
  /** For people: `serial /dev/serial/by-id/...`, `simulated rig`. */
  readonly name: string;
  readonly state: TransportState;
  /** Start, and keep trying; resolves when the first attempt was made (open or not). */
  open(listener: TransportListener): Promise<void>;
  /**
   * Bytes to the kit; on a link with several kits to the one whose URN is given, else to all of them. False when they
   * could not be sent now (not open, no such kit).
   */
  send(bytes: Uint8Array, kit?: string): Promise<boolean>;
  /** Idempotent; no call of the listener after it resolved. */
  close(): Promise<void>;
}

/** Time as a dependency, so that back-off and watchdogs are tested without waiting. Seconds, monotonic. */
export interface TransportClock {
  nowS(): number;
  /** Call `fn` once after `delayS`; the returned function cancels. */
  after(delayS: number, fn: () => void): () => void;
}
