import type { Message } from '../core/message/message.ts';
import type { Link } from '../core/seal/chain.ts';
import type { Have } from './part.ts';

/** Parts that wait on the disk, in the order in which a run needs them. */
export interface WaitingParts {
  /** Runs of which something came that was not yet looked at. */
  runsWithNews(): readonly WaitingRun[];
  /** Head of a run as first told; undefined: not yet. */
  head(runId: string): unknown;
  /** Links from `from` on without a gap, `limit` at most. */
  links(runId: string, from: number, limit: number): readonly Link[];
  chunk(runId: string, chunk: number): Uint8Array | null;
  /** Links before `links` are in the firm's store: their parts may go. */
  placed(runId: string, links: number): void;
  /** The files of the sealed record, when each is whole; null: something is missing. */
  record(runId: string): readonly { readonly file: string; readonly body: Uint8Array }[] | null;
  recordDone(runId: string, state: 'kept' | 'refused'): void;
  /** Nothing more to do for this run until the next part. */
  looked(runId: string): void;
  quarantineRun(runId: string, rig: string, why: Message): void;
}

export interface WaitingRun {
  readonly runId: string;
  readonly rig: string;
  /** Links in the firm's store. */
  readonly links: number;
  readonly record: Have['record'];
}

/** The firm's store, where the runs of all rigs stand as they stand on their own bridge. */
export interface FirmStore {
  /**
   * Put on links that follow what is there, with their samples; returns how many the run has then: fewer where the
   * samples of one are not there yet. Throws Problem: they do not fit (nothing of them is taken in).
   */
  grow(head: unknown, rig: string, links: readonly Link[], chunkOf: (chunk: number) => Uint8Array | null): number;
  /** Verify a sealed record and keep it: what is wrong with it, null when it is kept, `early`: its chain is not all here. */
  takeRecord(
    runId: string,
    files: readonly { readonly file: string; readonly body: Uint8Array }[],
  ): Message | 'early' | null;
}

const linksAtOnce = 500;

/**
 * Moves what waits to where it belongs: links in the order of their chain, each checked against the one before it,
 * samples against the hash in their link, the sealed record against its signature. What does not fit is set aside with
 * its reason, and the rig is told what the firm has. One process of a hub does this at a time.
 */
export class Keeper {
  readonly #parts: WaitingParts;
  readonly #store: FirmStore;
  readonly #tellHave: (rig: string, have: Have) => void;
  readonly #asMessage: (error: unknown) => Message | null;

  constructor(
    parts: WaitingParts,
    store: FirmStore,
    tellHave: (rig: string, have: Have) => void,
    /** A failure that is the data's own fault as a sentence; null: not its fault, try again later. */
    asMessage: (error: unknown) => Message | null,
  ) {
    this.#parts = parts;
    this.#store = store;
    this.#tellHave = tellHave;
    this.#asMessage = asMessage;
  }

  /** Looks at every run of which something came. Throws what `asMessage` does not know: the store is not usable now. */
  work(): void {
    for (const run of this.#parts.runsWithNews()) this.#look(run);
  }

  #look(run: WaitingRun): void {
    const { runId, rig } = run;
    // Marked first: what comes while this works is news again.
    this.#parts.looked(runId);
    let { links, record } = run;
    try {
      links = this.#chain(runId, rig, links);
    } catch (error) {
      const why = this.#asMessage(error);
      if (!why) throw error;
      this.#parts.quarantineRun(runId, rig, why);
      return;
    }
    if (record === 'none') record = this.#record(runId, rig);
    if (links !== run.links || record !== run.record) this.#parts.placed(runId, links);
    // Told again, too, when there is no news: the rig may have asked by sending what is known.
    this.#tellHave(rig, { v: 1, run_id: runId, links, record });
  }

  #chain(runId: string, rig: string, from: number): number {
    const head = this.#parts.head(runId);
    if (head === undefined) return from;
    let have = from;
    for (;;) {
      const next = this.#parts.links(runId, have, linksAtOnce);
      if (next.length === 0) return have;
      const grown = this.#store.grow(head, rig, next, (chunk) => this.#parts.chunk(runId, chunk));
      if (grown <= have) return have;
      have = grown;
      this.#parts.placed(runId, have);
    }
  }

  #record(runId: string, rig: string): Have['record'] {
    const files = this.#parts.record(runId);
    if (!files) return 'none';
    const fault = this.#store.takeRecord(runId, files);
    if (fault === 'early') return 'none';
    if (fault) this.#parts.quarantineRun(runId, rig, fault);
    const state = fault ? 'refused' : 'kept';
    this.#parts.recordDone(runId, state);
    return state;
  }
}
