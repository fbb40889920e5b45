import { type Analysis, createAnalysis, createTracedAnalysis, type TracedAnalysis } from './analyse.ts';
import { inHindsight, type TraceSecond } from './hindsight.ts';
import type { RunContext } from './job/context.ts';
import { contextNow, tellsContext } from './job/context-now.ts';
import type { RunEvent } from './job/event.ts';
import { fold } from './job/fold.ts';
import { startState } from './job/state.ts';
import { type LineSettings, lineSettingsSchema } from './line/settings.ts';
import type { Reason, Visit } from './line/verdict.ts';
import { say } from './message/message.ts';
import type { Sample } from './quantity/sample.ts';

/** What `limpid analyse` prints: the fixed shape that outside checks read. Times in seconds of the recording. */
export interface RecordingResult {
  readonly visits: readonly VisitResult[];
  readonly rinse: {
    readonly clear_at_s: number | null;
    readonly withheld: boolean;
    readonly confidence: number | null;
    readonly reason: ReasonResult;
  } | null;
  /** What flow, pressure and the kit told beside the verdicts, in the order in which it was said. */
  readonly notices: readonly { readonly at_s: number; readonly reason: ReasonResult }[];
  readonly findings: readonly {
    readonly id: string;
    readonly severity: string;
    readonly title: string;
    readonly spans: readonly (readonly [number, number])[];
    readonly figures: Readonly<Record<string, number>>;
  }[];
  /** What every verdict above went by, whole: given to `--settings`, the same comes out again. */
  readonly settings: LineSettings;
}

/** What was said of visits and rinse. */
export type Verdicts = Pick<RecordingResult, 'visits' | 'rinse'>;

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
  /** Probability that the verdict at the end is right, by the tool's own model; null where it makes no claim. */
  readonly confidence: number | null;
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
  /** Partial line settings; a ZodError is thrown when one is unknown or out of range. */
  readonly settings?: unknown;
}

/** An event of a recording, with the id by which a later one may take it back, where the recording has ids. */
export type RecordedEvent = RunEvent & { readonly id?: string };

/** Drives a recording through the very code that runs live, in time order. Doubled times: the first wins. */
export function analyseRecording(
  context: RunContext,
  samples: readonly Sample[],
  events: readonly RecordedEvent[],
  options: RecordingOptions = {},
): RecordingResult {
  const trace: TraceSecond[] = [];
  const settings = lineSettingsSchema.parse(options.settings ?? {});
  const traced = options.hindsight ? createTracedAnalysis(context, settings, (second) => trace.push(second)) : null;
  const analysis = traced ?? createAnalysis(context, settings);
  drive(analysis, context, samples, events);
  const { visits, rinse, notices } = analysis;
  const dated = traced ? visits.map((v) => again(v, traced, trace, settings)) : visits;
  return resultOf({ visits: dated, rinse, notices }, settings);
}

/** What an analysis that has seen the whole recording came to; findings are the audit's to add. */
export function resultOf(
  { visits, rinse, notices }: Pick<Analysis, 'visits' | 'rinse' | 'notices'>,
  settings: LineSettings,
): RecordingResult {
  return {
    visits: visits.map(visitResult),
    rinse: rinse && {
      clear_at_s: rinse.clearAtS,
      withheld: rinse.withheld,
      confidence: rinse.verdict.confidence,
      reason: told(rinse.verdict.reason),
    },
    notices: notices.map(({ atS, reason }) => ({ at_s: atS, reason: told(reason) })),
    findings: [],
    settings,
  };
}

function drive(
  analysis: Analysis,
  context: RunContext,
  samples: readonly Sample[],
  events: readonly RecordedEvent[],
): void {
  const rows = inOrder(samples);
  const marks = inOrder(events);
  if (marks.length === 0) {
    analysis.event({ timeS: Math.max(0, rows[0]?.timeS ?? 0), event: 'emitter-open', emitter: '', note: '' });
  }
  let next = 0;
  // What was surveyed and tested in the run says what the system is like, here as live.
  const tells = marks.some(tellsContext);
  let state = startState(context);
  const marksUntil = (timeS: number): void => {
    for (let mark = marks[next]; mark && mark.timeS <= timeS; mark = marks[next]) {
      analysis.event(mark);
      if (tells) state = fold(state, { id: mark.id ?? `${next}`, event: mark, who: '' });
      if (tellsContext(mark)) analysis.know(contextNow(context, state.job));
      next += 1;
    }
  };
  for (const row of rows) {
    marksUntil(row.timeS);
    analysis.sample(row);
  }
  marksUntil(Number.POSITIVE_INFINITY);
}

/** The visit with its pulses and clears dated by what came later. What was withheld stays withheld. */
function again(visit: Visit, analysis: TracedAnalysis, trace: readonly TraceSecond[], settings: LineSettings): Visit {
  const found = inHindsight(visit, analysis.passStartsS(visit), trace, analysis.pathL(visit.emitter), settings);
  if (visit.withheld) return { ...visit, pulses: found.pulses };
  const last = found.clears.at(-1);
  const stands = last !== undefined && (last.toS === null || last.toS === visit.toS);
  const { verdict } = visit;
  // What was said then stands where it agrees; a verdict that is turned round has a reason of its own, and no chance was reckoned.
  if (stands === (verdict.state === 'clear')) return { ...visit, ...found };
  const code = stands ? 'clear-afterwards' : 'not-clear-afterwards';
  const turned = { ...verdict, done: false, reason: { code, figures: {} }, confidence: null, forecast: null };
  return { ...visit, ...found, verdict: { ...turned, state: stands ? 'clear' : 'settling' } };
}

function visitResult(v: Visit): VisitResult {
  const isClear = v.verdict.state === 'clear';
  return {
    emitter: v.emitter,
    visit: v.visit,
    clear_at_s: isClear ? (v.clears.at(-1)?.fromS ?? null) : null,
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
    confidence: v.verdict.confidence,
    reason: told(v.verdict.reason),
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
