import { analyseRecording, type RecordingResult, type Verdicts, type VisitResult } from '../analyse-recording.ts';
import { nameOf } from './outcome.ts';
import type { Gathered } from './gather.ts';
import { settingsOf } from './record.ts';

export interface AgainOptions {
  /** Settings that differ from those the run was judged by; a ZodError is thrown when one is unknown or out of range. */
  readonly settings?: unknown;
  /** Use what came later, too. */
  readonly hindsight?: boolean;
}

export type VerdictWord = 'done' | 'clear' | 'not-clear' | 'cannot-tell';

/** One visit as it was judged while it ran, and as it is judged again. */
export interface VisitAgain {
  readonly emitter: string;
  readonly name: string;
  readonly visit: number;
  readonly original: VisitResult | null;
  readonly again: VisitResult | null;
  readonly originalVerdict: VerdictWord | null;
  readonly againVerdict: VerdictWord | null;
  /** Later (+) or earlier (-), s; null unless both were clear. */
  readonly clearLaterS: number | null;
  /** Another verdict. */
  readonly differs: boolean;
}

export interface Again {
  readonly visits: readonly VisitAgain[];
  readonly rinse: {
    readonly original: RecordingResult['rinse'];
    readonly again: RecordingResult['rinse'];
    readonly differs: boolean;
  } | null;
  /** How many visits are judged otherwise. */
  readonly differing: number;
}

/**
 * Folds the run once more, with other settings or with hindsight, beside what was said while it ran: the record's
 * samples and events through the same code with the record's own settings, causally. The record is not touched. Pure.
 */
export function reanalyse(run: Gathered, options: AgainOptions): Again {
  const { head, samples, late = [] } = run.input;
  const events = run.input.entries.map(({ id, event }) => ({ ...event, id }));
  const original = analyseRecording(head.context, samples, events, { settings: settingsOf(run.input) });
  const hindsight = options.hindsight ?? false;
  const settings = settingsOf(run.input, options.settings);
  const again = analyseRecording(head.context, hindsight ? [...samples, ...late] : samples, events, {
    hindsight,
    settings,
  });
  return compare(original, again, (id) => nameOf(run, id));
}

/** Two results of one record, visit by visit. */
export function compare(original: Verdicts, again: Verdicts, nameOfEmitter: (id: string) => string): Again {
  const keyOf = (v: VisitResult): string => `${v.visit} ${v.emitter}`;
  const found = new Map(again.visits.map((v) => [keyOf(v), v]));
  const visits = original.visits.map((v) => besides(v, found.get(keyOf(v)) ?? null, nameOfEmitter));
  const known = new Set(original.visits.map(keyOf));
  const more = again.visits.filter((v) => !known.has(keyOf(v))).map((v) => besides(null, v, nameOfEmitter));
  const all = [...visits, ...more];
  const rinse = original.rinse ?? again.rinse;
  return {
    visits: all,
    rinse: rinse
      ? {
          original: original.rinse,
          again: again.rinse,
          differs:
            ((original.rinse?.clear_at_s ?? null) === null) !== ((again.rinse?.clear_at_s ?? null) === null) ||
            original.rinse?.withheld !== again.rinse?.withheld,
        }
      : null,
    differing: all.filter((v) => v.differs).length,
  };
}

function besides(original: VisitResult | null, again: VisitResult | null, name: (id: string) => string): VisitAgain {
  const { emitter = '', visit = 0 } = original ?? again ?? {};
  const originalVerdict = original && wordOf(original);
  const againVerdict = again && wordOf(again);
  const [was, is] = [original?.clear_at_s ?? null, again?.clear_at_s ?? null];
  return {
    emitter,
    name: name(emitter),
    visit,
    original,
    again,
    originalVerdict,
    againVerdict,
    clearLaterS: was === null || is === null ? null : is - was,
    differs: originalVerdict !== againVerdict,
  };
}

function wordOf(v: VisitResult): VerdictWord {
  if (v.clear_at_s !== null) return v.done ? 'done' : 'clear';
  return v.withheld ? 'cannot-tell' : 'not-clear';
}
