import type { Analysis } from '../analyse.ts';
import type { Reason, Verdict, Visit } from '../line/verdict.ts';
import { say } from '../message/message.ts';
import { bandOf } from './band.ts';
import { buttonsOf, eventLabel } from './buttons.ts';
import type { RunContext } from './context.ts';
import { stageOf } from './stages.ts';
import { type LiveFigures, noFigures } from './stages/live.ts';
import { gateOf, pauseReasons, reasons, stagePage, timeLine } from './stages/page.ts';
import type { Look } from './stages/stage.ts';
import { workedOut } from './stages/worked.ts';
import type { EmitterState, JobState } from './state.ts';
import type { VerdictSpan } from './track.ts';
import { lastAction } from './undo.ts';
import type { EmitterView, JobView } from './view-schema.ts';

export interface ViewInput {
  readonly head: {
    readonly runId: string;
    readonly title: string;
    readonly simulated: boolean;
    readonly startedAt: string;
    readonly context: RunContext;
  };
  readonly state: JobState;
  readonly analysis: Analysis;
  /** What the samples come to for the stages; absent: nothing measured. */
  readonly live?: LiveFigures;
  readonly spans: readonly VerdictSpan[];
  readonly timeS: number;
  /** How long an action may be taken back, run-clock seconds. */
  readonly undoForS: number;
}

/** How much of the past a page gets with each view, run-clock seconds; older spans are in the trace and the record. */
const recentS = 3600;
const noticesShown = 8;

/** All that stages look at. */
export function lookOf(
  input: Pick<ViewInput, 'state' | 'analysis' | 'timeS' | 'live'> & { readonly head: { readonly context: RunContext } },
): Look {
  const { head, state, analysis, timeS, live = noFigures } = input;
  const rinse = analysis.rinse?.verdict ?? null;
  return {
    job: state.job,
    context: head.context,
    live,
    worked: workedOut(state.job, live, head.context, rinse),
    visits: analysis.visits,
    rinse,
    line: analysis.figures,
    timeS,
  };
}

/** What a person sees of the run now. Pure: same input, same view. */
export function jobView(input: ViewInput): JobView {
  const { head, state, analysis, timeS } = input;
  const { job } = state;
  const sinceS = timeS - recentS;
  const visits = analysis.visits.filter((v) => (v.toS ?? timeS) >= sinceS);
  const verdict = verdictOf(state, analysis);
  const emitters = job.emitters.map((e) => emitterView(e, head.context, analysis.visits));
  const look = lookOf(input);
  const page = stagePage(look);
  const isOpen = (page?.missing ?? gateOf(look)).length === 0;
  return {
    runId: head.runId,
    title: head.title,
    simulated: head.simulated,
    startedAt: head.startedAt,
    timeS,
    stage: job.stage ?? '',
    stageTitle: job.stage === null ? 'Not begun' : (stageOf(job.stage)?.title ?? job.stage),
    emitters,
    openEmitter: job.openEmitter,
    band: bandOf(job, verdict, emitters, page),
    verdict: {
      state: verdict.state,
      done: verdict.done,
      sinceS: verdict.sinceS,
      confidence: verdict.confidence,
      reason: { code: verdict.reason.code, text: sayReason(verdict.reason), figures: finite(verdict.reason.figures) },
      forecast: verdict.forecast,
    },
    figures: { ...analysis.figures },
    passesS: visits.flatMap((v) => [...v.passesS]),
    pulses: visits.flatMap((v) => [...v.pulses]),
    clears: visits.flatMap((v) => [...v.clears]),
    withheldSpans: input.spans
      .filter((s) => s.state === 'cannot-tell' && (s.toS ?? timeS) >= sinceS)
      .map((s) => ({
        fromS: s.fromS,
        toS: s.toS,
        text: sayReason(s.reason),
      })),
    visitSpans: visits.map((v) => ({ emitter: v.emitter, fromS: v.fromS, toS: v.toS })),
    buttons: buttonsOf(look, verdict, emitters, isOpen),
    undo: undoView(input, emitters),
    stagePage: page,
    timeLine: timeLine(look),
    paused: job.paused,
    reasons: { way: [...reasons], pause: [...pauseReasons] },
    notices: analysis.notices.slice(-noticesShown).map((n) => ({ atS: n.atS, text: sayReason(n.reason) })),
  };
}

/** During the rinse the verdict is the rinse's own. */
function verdictOf(state: JobState, analysis: Analysis): Verdict {
  return state.job.stage === 'rinse' && analysis.rinse ? analysis.rinse.verdict : analysis.verdict;
}

function sayReason(reason: Reason): string {
  return say({ code: reason.code, params: reason.figures });
}

/** A figure that is not known yet is left out: JSON has no word for it. */
function finite(figures: Reason['figures']): Record<string, number> {
  return Object.fromEntries(Object.entries(figures).filter(([, value]) => Number.isFinite(value)));
}

function emitterView(emitter: EmitterState, context: RunContext, visits: readonly Visit[]): EmitterView {
  const own = visits.filter((v) => v.emitter === emitter.id);
  const last = own.at(-1);
  const known = context.emitters.find((e) => e.id === emitter.id);
  const peaks = own.flatMap((v) => v.pulses.flatMap((p) => (p.peakNtu === null ? [] : [p.peakNtu])));
  const standing = last && last.verdict.state === 'clear' ? last.clears.at(-1) : undefined;
  return {
    id: emitter.id,
    name: known?.name ?? emitter.id,
    volumeL: known?.volume_l ?? 0,
    status: emitter.status === 'shut' ? (last?.verdict.done ? 'done' : 'left') : emitter.status,
    visits: emitter.openings,
    passes: emitter.passes,
    peakNtu: peaks.length === 0 ? null : Math.max(...peaks),
    clearAfterS: last && standing ? standing.fromS - last.fromS : null,
  };
}

function undoView(input: ViewInput, emitters: readonly EmitterView[]): JobView['undo'] {
  const last = lastAction(input.state);
  if (!last) return null;
  const untilS = last.event.timeS + input.undoForS;
  return input.timeS > untilS ? null : { id: last.id, label: eventLabel(last.event, emitters), untilS };
}
