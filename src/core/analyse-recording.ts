import { createAnalysis } from './analyse.ts';
import type { RunContext } from './job/context.ts';
import type { RunEvent } from './job/event.ts';
import type { Reason } from './line/verdict.ts';
import { say } from './message/message.ts';
import type { Sample } from './quantity/sample.ts';

/** What `limpid analyse` prints: the fixed shape that outside checks read. Times in seconds of the recording. */
export interface RecordingResult {
  readonly visits: readonly VisitResult[];
  readonly rinse: {
    readonly clear_at_s: number | null;
    readonly withheld: boolean;
    readonly reason: ReasonResult;
  } | null;
  readonly findings: readonly {
    readonly id: string;
    readonly severity: string;
    readonly title: string;
    readonly spans: readonly (readonly [number, number])[];
    readonly figures: Readonly<Record<string, number>>;
  }[];
}

export interface VisitResult {
  readonly emitter: string;
  readonly visit: number;
  readonly clear_at_s: number | null;
  readonly clears: readonly { readonly from_s: number; readonly to_s: number | null }[];
  readonly withheld: boolean;
  readonly done: boolean;
  readonly pulses: readonly {
    readonly onset_s: number;
    readonly said_s: number;
    readonly peak_s: number | null;
    readonly peak_ntu: number | null;
    readonly end_s: number | null;
  }[];
  readonly reason: ReasonResult;
}

export interface ReasonResult {
  readonly code: string;
  readonly text: string;
  readonly figures: Readonly<Record<string, number>>;
}

export interface RecordingOptions {
  /** Use what came later, too: dates onsets and clears as an audit would. Off: everything is causal. */
  readonly hindsight?: boolean;
  readonly settings?: unknown;
}

/** Drives a recording through the very code that runs live, in time order. Doubled times: the first wins. */
export function analyseRecording(
  context: RunContext,
  samples: readonly Sample[],
  events: readonly RunEvent[],
  options: RecordingOptions = {},
): RecordingResult {
  const rows = inOrder(samples);
  const marks = inOrder(events);
  const analysis = createAnalysis(context, options.settings);
  const first = rows[0]?.timeS ?? 0;
  if (marks.length === 0) analysis.event({ timeS: Math.max(0, first), event: 'emitter-open', emitter: '', note: '' });
  let next = 0;
  for (const row of rows) {
    for (let mark = marks[next]; mark && mark.timeS <= row.timeS; mark = marks[next]) {
      analysis.event(mark);
      next += 1;
    }
    analysis.sample(row);
  }
  for (let mark = marks[next]; mark; mark = marks[next]) {
    analysis.event(mark);
    next += 1;
  }
  const { rinse } = analysis;
  return {
    visits: analysis.visits.map((v) => ({
      emitter: v.emitter,
      visit: v.visit,
      clear_at_s: v.verdict.state === 'clear' ? (v.clears.at(-1)?.fromS ?? null) : null,
      clears: v.clears.map((c) => ({ from_s: c.fromS, to_s: c.toS })),
      withheld: v.withheld,
      done: v.verdict.done,
      pulses: v.pulses.map((p) => ({
        onset_s: p.onsetS,
        said_s: p.saidS,
        peak_s: p.peakS,
        peak_ntu: p.peakNtu,
        end_s: p.endS,
      })),
      reason: told(v.verdict.reason),
    })),
    rinse: rinse ? { clear_at_s: rinse.clearAtS, withheld: rinse.withheld, reason: told(rinse.verdict.reason) } : null,
    findings: [],
  };
}

function told(reason: Reason): ReasonResult {
  const figures = Object.fromEntries(Object.entries(reason.figures).filter(([, value]) => Number.isFinite(value)));
  return { code: reason.code, text: say({ code: reason.code, params: figures }), figures };
}

/** Sorted by time, stably; most recordings are sorted already. */
function inOrder<T extends { readonly timeS: number }>(rows: readonly T[]): readonly T[] {
  for (let i = 1; i < rows.length; i += 1) {
    if ((rows[i]?.timeS ?? 0) < (rows[i - 1]?.timeS ?? 0)) return [...rows].sort((a, b) => a.timeS - b.timeS);
  }
  return rows;
}
