import type { RunContext } from '../job/context.ts';
import type { Entry } from '../job/state.ts';
import { type KeptSettings, type LineSettings, lineSettingsSchema, understood } from '../line/settings.ts';
import type { Message } from '../message/message.ts';
import type { Sample } from '../quantity/sample.ts';
import type { Driven } from './drive.ts';

/** An event as the record holds it; `who` and `wallAt` are '' where a recording came without its chain. */
export interface LoggedEvent extends Entry {
  readonly wallAt: string;
}

/** A run as it was recorded: what an audit, a report and a summary are made from, and nothing else. */
export interface RunRecord {
  readonly head: {
    readonly runId: string;
    readonly title: string;
    readonly simulated: boolean;
    /** ISO 8601 UTC; '' where the recording does not say. */
    readonly startedAt: string;
    readonly context: RunContext;
    /** What it was judged by while it ran. */
    readonly settings?: KeptSettings;
  };
  /** In time order. */
  readonly entries: readonly LoggedEvent[];
  /** In time order. */
  readonly samples: readonly Sample[];
  /** Made at times that had gone by when they came: no live verdict knew them, and only hindsight uses them. */
  readonly late?: readonly Sample[];
  /** Where the chain stands; null for a recording without one. */
  readonly chain: { readonly count: number; readonly hash: string } | null;
  /** How the seal stands; null: none. */
  readonly seal: { readonly state: 'good' | 'broken' } | null;
  /** Of a seal that the record tells of and that is not here, what to say; absent: it is here, or nobody looked. */
  readonly sealGone?: Message;
  /** What a check of the record's chain and files found wrong; absent: nothing, or nobody looked. */
  readonly faults?: readonly Message[];
  /** Settings of the analysis that differ from those it was judged by. */
  readonly settings?: unknown;
  /** What a live run has worked out already; else the run is driven once more. */
  readonly driven?: Driven;
}

/** What a run is judged by: as it was while it ran, but for what is asked for. Throws a ZodError as `createAnalysis` does. */
export function settingsOf(run: Pick<RunRecord, 'head' | 'settings'>, asked: unknown = run.settings): LineSettings {
  const { settings } = understood(run.head.settings);
  return lineSettingsSchema.parse(typeof asked === 'object' && asked !== null ? { ...settings, ...asked } : settings);
}
