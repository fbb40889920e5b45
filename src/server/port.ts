import type { LiveMessage, PostedEvent, PostEvent, RunView, TraceRow } from './protocol.ts';

/** A refusal of something asked for: code and params of message/, with the HTTP status that fits. */
export interface Refusal {
  readonly status: 400 | 401 | 403 | 404 | 409 | 413 | 429 | 503;
  readonly code: string;
  readonly text: string;
  readonly params?: Readonly<Record<string, string | number>>;
}

/** What the server needs of the running bridge; given by src/run, faked in tests. */
export interface BridgePort {
  view(): RunView;
  /** Rows with fromS <= timeS <= toS; at most about `points` rows, by min/max per column, when `points` is given. */
  trace(fromS: number, toS: number, points?: number): { rows: TraceRow[]; decimated: boolean };
  /** Returns after the event is committed and synced. `who` is the paired device or 'loopback'. */
  post(event: PostEvent, who: string): Promise<Omit<PostedEvent, 'id'> | Refusal>;
  /** Every live message, in order (`from` of a `refetch` is filled in on the way); the returned function stops it. */
  listen(fn: (message: LiveMessage) => void): () => void;
}
