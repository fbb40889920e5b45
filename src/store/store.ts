import type { RunContext } from '../core/job/context.ts';
import type { RunEvent } from '../core/job/event.ts';
import type { KeptSettings } from '../core/line/settings.ts';
import type { Sample } from '../core/quantity/sample.ts';
import type { Office } from './office.ts';
import type { RunIndex } from './run-index.ts';

/** Head of a run: what is known when it begins. */
export interface RunHead {
  readonly runId: string;
  readonly title: string;
  readonly simulated: boolean;
  /** ISO 8601 UTC, from the bridge's wall clock when the run began. */
  readonly startedAt: string;
  readonly context: RunContext;
  /** What its verdicts go by, all of it; runs of before this was kept have none. */
  readonly settings?: KeptSettings;
}

/** An event as kept: chained by hash, and idempotent by `id`. */
export interface StoredEvent {
  readonly index: number;
  readonly id: string;
  readonly event: RunEvent;
  /** Paired device, `kit`, `bridge` or `loopback`. */
  readonly who: string;
  /** Wall clock at commit, ISO 8601 UTC; for people, never for order. */
  readonly wallAt: string;
  readonly prevHash: string;
  readonly hash: string;
}

export interface NewEvent {
  readonly id: string;
  readonly event: RunEvent;
  readonly who: string;
  readonly wallAt: string;
}

/** A closed chunk as the store lists it, without its samples. */
export interface KeptChunk {
  /** Below 0: of samples that came late. */
  readonly chunk: number;
  readonly fromS: number;
  readonly toS: number;
  readonly count: number;
}

/**
 * One run's record. Events: appended, committed and synced when `appendEvent` returns. Samples: buffered; committed by
 * `flush`, which the run loop calls at least every 100 ms. Times are strictly increasing over samples.
 */
export interface RunStore {
  readonly head: RunHead;
  appendEvent(event: NewEvent): { stored: StoredEvent; doubled: boolean };
  /** Values rounded to their channels (`roundToChannel`), as a recording holds them. Throws Problem: time, no number. */
  appendSample(sample: Sample): void;
  /**
   * Keep a sample whose place in time has gone by (a kit's or a broker's kept pack): beside the others, in the order of
   * coming, committed by `flush` within a second. Throws Problem as `appendSample`, but for its order.
   */
  appendLate(sample: Sample): void;
  flush(): void;
  /**
   * Commit what is buffered and bring all samples so far into the chain (an event `samples-kept` by `bridge`). At the end
   * of a run and before an export; otherwise the store does it by itself about once a minute.
   */
  keepSamples(): void;
  events(): StoredEvent[];
  /** How many links its chain has. */
  linkCount(): number;
  /** Links from `from` on, `limit` at most. */
  links(from: number, limit: number): StoredEvent[];
  /** Bytes of a closed chunk of samples, as hashed; null: no such chunk. */
  chunkBody(chunk: number): Uint8Array | null;
  /** Every closed chunk that is there, whether an entry of the chain names it or not. */
  chunks(): readonly KeptChunk[];
  /** How many samples are in no closed chunk yet. */
  unchained(): number;
  /** Samples that are in memory alone, and the time of the first; null: none. */
  unkept(): { readonly count: number; readonly fromS: number } | null;
  /** Samples with fromS <= timeS <= toS, in time order, buffered ones included. */
  samples(fromS?: number, toS?: number): Iterable<Sample>;
  /** Late samples with fromS <= timeS <= toS, in the order in which they came, buffered ones included. */
  late(fromS?: number, toS?: number): Sample[];
  /** Time of the newest sample or event, 0 when empty: where a resumed run's clock must go on from. */
  lastTimeS(): number;
}

/** A certificate of calibration as kept: JSON text that is never changed. */
export interface KeptCertificate {
  readonly id: string;
  readonly kit: string;
  readonly body: string;
}

export interface Store {
  /** Finding runs without opening them. */
  readonly index: RunIndex;
  /** Comments, people, sessions and links: beside the records, never in them. */
  readonly office: Office;
  runs(): RunHead[];
  runCount(): number;
  createRun(head: RunHead): RunStore;
  /**
   * Take in a whole run that was chained elsewhere, links untouched, or nothing of it. The chain must be intact and its
   * `samples-kept` must fit the samples (Problem otherwise).
   */
  restoreRun(
    head: RunHead,
    links: readonly StoredEvent[],
    samples: Iterable<Sample>,
    late?: Iterable<Sample>,
  ): RunStore;
  /**
   * Make a run that is recorded elsewhere longer, by links that follow what is here, each with the samples that it
   * closes (their bytes, by number of the chunk; null: not there yet). Returns how many links there are then. Throws
   * Problem, and takes nothing of the call in: a link that does not follow, samples of another hash, another run's head.
   */
  growRun(head: RunHead, links: readonly StoredEvent[], chunkOf: (chunk: number) => Uint8Array | null): number;
  openRun(runId: string): RunStore | null;
  /** The run that was under way when the bridge stopped, if any. */
  currentRunId(): string | null;
  setCurrentRun(runId: string | null): void;
  /** Bodies of all certificates of a kit (of every kit when none is named), oldest first. */
  certificates(kit?: string): string[];
  /** Kept and on the disk when it returns. Throws Problem `store-certificate-exists`: that id is taken. */
  addCertificate(certificate: KeptCertificate): void;
  /** A whole copy of the database as it is now, under the name `file` when it is whole. Throws Problem. */
  copyTo(file: string): void;
  close(): void;
}
