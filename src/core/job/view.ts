import type { Analysis } from '../analyse.ts';
import type { Reason, Verdict, Visit } from '../line/verdict.ts';
import { createTeller, type Message, type Teller } from '../message/message.ts';
import { alarmView, isAlarmFirst } from './alarm-view.ts';
import { bandOf } from './band.ts';
import { buttonsOf, eventLabel } from './buttons.ts';
import type { RunContext } from './context.ts';
import type { RunAlarms } from './run-alarms.ts';
import { emitterGave } from './emitter-gave.ts';
import { stageOf } from './stages.ts';
import { passesLikely, workRemarks } from './stages/emitters.ts';
import { type LiveFigures, noFigures } from './stages/live.ts';
import { gateOf, pauseReasons, reasons, stagePage, timeLine, typedView } from './stages/page.ts';
import type { Look } from './stages/stage.ts';
import { workedOut } from './stages/worked.ts';
import type { EmitterState, JobState } from './state.ts';
import type { VerdictSpan } from './track.ts';
import { lastAction } from './undo.ts';
import type { EmitterView, JobView } from './view-schema.ts';
import { forecastView, whenDone } from './when-done.ts';

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
  readonly alarms?: Pick<RunAlarms, 'memory' | 'heard'>;
  readonly spans: readonly VerdictSpan[];
  readonly timeS: number;
  /** How long an action may be taken back, run-clock seconds. */
  readonly undoForS: number;
  /** Says the texts; whoever adds to the view lets it say its own too. */
  readonly teller?: Teller;
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
    worked: workedOut(state.job, live, head.context, rinse, analysis.settings),
    visits: analysis.visits,
    rinse,
    settings: analysis.settings,
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
  const look = lookOf(input);
  const { say, said } = input.teller ?? createTeller();
  const emitters = job.emitters.map((e) => emitterView(e, look, say));
  const page = stagePage(look, say);
  const isOpen = (page?.missing ?? gateOf(look)).length === 0;
  const alarms = alarmView(input.alarms, say, { 'never-clears': passesLikely(look) });
  const waits = isAlarmFirst(alarms);
  return {
    runId: head.runId,
    title: head.title,
    simulated: head.simulated,
    startedAt: head.startedAt,
    timeS,
    stage: job.stage ?? '',
    stageTitle:
      job.stage === null ? say({ code: 'band.not-begun', params: {} }) : (stageOf(job.stage)?.title ?? job.stage),
    emitters,
    openEmitter: job.openEmitter,
    band: bandOf(job, verdict, emitters, page, waits, say),
    verdict: {
      state: verdict.state,
      done: verdict.done,
      sinceS: verdict.sinceS,
      confidence: verdict.confidence,
      reason: {
        code: verdict.reason.code,
        text: say(messageOf(verdict.reason)),
        figures: finite(verdict.reason.figures),
      },
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
        text: say(messageOf(s.reason)),
      })),
    visitSpans: visits.map((v) => ({ emitter: v.emitter, fromS: v.fromS, toS: v.toS })),
    buttons: buttonsOf(look, verdict, emitters, isOpen, waits, say),
    typed: typedView(state.log),
    undo: undoView(input, emitters, say),
    stagePage: page,
    timeLine: timeLine(look),
    paused: job.paused,
    reasons: { way: [...reasons], pause: [...pauseReasons] },
    notices: analysis.notices.slice(-noticesShown).map((n) => ({ atS: n.atS, text: say(messageOf(n.reason)) })),
    alarms,
    workRemarks: job.stage === 'emitters' ? workRemarks(look).map(say) : [],
    forecast: forecastView(whenDone(job, analysis.visits, timeS), say),
    lead: job.lead,
    units: job.units,
    photos: job.photos.map((p) => ({ ...p })),
    said,
  };
}

/** During the rinse the verdict is the rinse's own. */
function verdictOf(state: JobState, analysis: Analysis): Verdict {
  return state.job.stage === 'rinse' && analysis.rinse ? analysis.rinse.verdict : analysis.verdict;
}

function messageOf(reason: Reason): Message {
  return { code: reason.code, params: reason.figures };
}

/** A figure that is not known yet is left out: JSON has no word for it. */
function finite(figures: Reason['figures']): Record<string, number> {
  return Object.fromEntries(Object.entries(figures).filter(([, value]) => Number.isFinite(value)));
}

function emitterView(emitter: EmitterState, look: Look, say: Teller['say']): EmitterView {
  const { name, volumeL, visits, peakNtu, solidsG, toDropL, transitS } = emitterGave(look, emitter.id);
  const last = visits.at(-1);
  const standing = last && last.verdict.state === 'clear' ? last.clears.at(-1) : undefined;
  return {
    id: emitter.id,
    name,
    volumeL,
    status: emitter.status === 'shut' ? (last?.verdict.done ? 'done' : 'left') : emitter.status,
    visits: emitter.openings,
    passes: emitter.passes,
    peakNtu,
    clearAfterS: last && standing ? standing.fromS - last.fromS : null,
    solidsG,
    toDropL,
    transitS,
    told: visits.map((v) => say(visitTold(v))),
  };
}

function visitTold(visit: Visit): Message {
  const peaks = visit.pulses.flatMap((p) => (p.peakNtu === null ? [] : [p.peakNtu]));
  const end = visit.verdict.done ? 'done' : visit.toS === null ? 'now' : 'left';
  return {
    code: `job.visit-${end}`,
    params: {
      visit: visit.visit,
      passes: visit.passesS.length,
      pulses: visit.pulses.length,
      ...(peaks.length === 0 ? {} : { peakNtu: Math.max(...peaks) }),
    },
  };
}

function undoView(input: ViewInput, emitters: readonly EmitterView[], say: Teller['say']): JobView['undo'] {
  const last = lastAction(input.state);
  if (!last) return null;
  const untilS = last.event.timeS + input.undoForS;
  return input.timeS > untilS ? null : { id: last.id, label: say(eventLabel(last, emitters)), untilS };
}
