import { limitsFor } from '../alarm/watch.ts';
import { type AlarmRise, RunAlarms } from '../job/run-alarms.ts';
import { createAnalysis, type RinseResult } from '../analyse.ts';
import type { RunContext } from '../job/context.ts';
import { contextNow, contextOfEvents, tellsContext } from '../job/context-now.ts';
import { fold } from '../job/fold.ts';
import { type LiveFigures, StageLive } from '../job/stages/live.ts';
import { type Worked, workedOut } from '../job/stages/worked.ts';
import { type Entry, type Job, startState } from '../job/state.ts';
import { trackVerdict, type VerdictSpan } from '../job/track.ts';
import type { Notice, Visit } from '../line/verdict.ts';
import type { Sample } from '../quantity/sample.ts';

/** Background and clear level as they stood at a moment; NTU. */
export interface Level {
  readonly timeS: number;
  readonly backgroundNtu: number | null;
  readonly clearNtu: number | null;
}

/** A run driven once more through the code that ran live, with what a chart needs kept along the way. */
export interface Driven {
  /** What the verdict went by: the start's context with this run's survey and mains test. */
  readonly context: RunContext;
  readonly job: Job;
  /** What the samples came to, as at the end of the run. */
  readonly live: LiveFigures;
  /** Figures of the stages, by the same code as their pages. */
  readonly worked: Worked;
  readonly visits: readonly Visit[];
  readonly rinse: RinseResult | null;
  readonly notices: readonly Notice[];
  readonly spans: readonly VerdictSpan[];
  /** About one a second. */
  readonly levels: readonly Level[];
  /** Every rise of an alarm, oldest first. */
  readonly alarms: readonly AlarmRise[];
}

/** Samples and entries each in time order. @param settings as of `createAnalysis` */
export function drive(
  begun: RunContext,
  samples: readonly Sample[],
  entries: readonly Entry[],
  settings?: unknown,
): Driven {
  const context = contextOfEvents(begun, entries);
  const analysis = createAnalysis(begun, settings);
  const live = new StageLive(context.system ?? 'sealed');
  const alarms = new RunAlarms(limitsFor(context.system ?? 'sealed'));
  const spans: VerdictSpan[] = [];
  const levels: Level[] = [];
  let state = startState(begun);
  let next = 0;
  const feedEvents = (untilS: number): void => {
    for (let e = entries[next]; e && e.event.timeS <= untilS; e = entries[next]) {
      alarms.advance(e.event.timeS, analysis, state.job);
      analysis.event(e.event);
      state = fold(state, e);
      if (tellsContext(e.event)) analysis.know(contextNow(begun, state.job));
      alarms.event(e.event);
      live.event(e.event, state.job);
      trackVerdict(spans, analysis.verdict);
      next += 1;
    }
  };
  if (entries.length === 0) {
    const opened = { timeS: Math.max(0, samples[0]?.timeS ?? 0), event: 'emitter-open', emitter: '', note: '' };
    analysis.event(opened);
    live.event(opened, state.job);
  }
  const excessNtu = (): number | null => analysis.figures.excessNtu;
  let levelS = Number.NEGATIVE_INFINITY;
  for (const sample of samples) {
    feedEvents(sample.timeS);
    alarms.advance(sample.timeS, analysis, state.job);
    analysis.sample(sample);
    alarms.sample(sample);
    live.sample(sample, excessNtu);
    trackVerdict(spans, analysis.verdict);
    if (sample.timeS - levelS < 1) continue;
    levelS = sample.timeS;
    const { backgroundNtu, clearLevelNtu } = analysis.figures;
    levels.push({ timeS: levelS, backgroundNtu, clearNtu: clearLevelNtu });
  }
  feedEvents(Number.POSITIVE_INFINITY);
  const { visits, rinse, notices } = analysis;
  const { job } = state;
  const endS = Math.max(samples.at(-1)?.timeS ?? 0, entries.at(-1)?.event.timeS ?? 0);
  const figures = live.figures(endS);
  const worked = workedOut(job, figures, context, rinse?.verdict ?? null, analysis.settings);
  return { context, job, live: figures, worked, visits, rinse, notices, spans, levels, alarms: alarms.rises };
}
