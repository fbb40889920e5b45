import type { Span } from './finding.ts';
import type { Gathered, VisitFigures } from './gather.ts';
import { nameOf } from './outcome.ts';
import { lengthOf, overlap } from './stretch.ts';

/** One visit as the figures across runs need it. */
export interface VisitSummary {
  readonly emitter: string;
  readonly name: string;
  /** Of the survey or the context ('panel', 'column', ...); '' not said. */
  readonly type: string;
  readonly visit: number;
  readonly fromS: number;
  readonly toS: number;
  /** Verdict at its end. */
  readonly state: string;
  readonly done: boolean;
  readonly withheld: boolean;
  /** Seconds from opening to the clear that stood when it was shut. */
  readonly clearAfterS: number | null;
  readonly passes: number;
  readonly peakNtu: number | null;
  readonly litres: number | null;
  readonly solidsG: number | null;
  /** Seconds in which nothing could be told. */
  readonly withheldS: number;
  readonly overridden: boolean;
  /** Left within a minute and with no pass: opened by mistake. */
  readonly falseStart: boolean;
  /** Clears that were shown and went again without a new pass. */
  readonly withdrawn: number;
}

/** A visit without a pass that is shorter is a false start, s. */
const falseStartS = 60;
/** A pass that ends so soon after a clear went had begun before it went, s. */
const passS = 60;

export function visitSummaries(run: Gathered): VisitSummary[] {
  const untold = run.driven.spans
    .filter((s) => s.state === 'cannot-tell')
    .map((s): Span => [s.fromS, s.toS ?? run.endS]);
  return run.visits.map((v) => visitSummary(run, v, untold));
}

function visitSummary(run: Gathered, figures: VisitFigures, untold: readonly Span[]): VisitSummary {
  const { visit, toS, litres, solidsG } = figures;
  const { emitter, fromS, passesS, clears, verdict } = visit;
  const peaks = visit.pulses.flatMap((p) => (p.peakNtu === null ? [] : [p.peakNtu]));
  const stood = verdict.state === 'clear' ? clears.at(-1) : undefined;
  const isNewPass = (s: number): boolean => passesS.some((p) => p >= s - 1 && p <= s + passS);
  return {
    emitter,
    name: nameOf(run, emitter),
    type: typeOf(run, emitter),
    visit: visit.visit,
    fromS,
    toS,
    state: verdict.state,
    done: verdict.done,
    withheld: visit.withheld,
    clearAfterS: stood ? stood.fromS - fromS : null,
    passes: passesS.length,
    peakNtu: peaks.length > 0 ? Math.max(...peaks) : null,
    litres,
    solidsG: solidsG?.value ?? null,
    withheldS: lengthOf(overlap(untold, [[fromS, toS]])),
    overridden: run.active.some(
      ({ event }) =>
        event.event === 'override' && event.emitter === emitter && event.timeS >= fromS && event.timeS <= toS + 1,
    ),
    falseStart: passesS.length === 0 && visit.toS !== null && toS - fromS < falseStartS,
    withdrawn: clears.filter((c) => c.toS !== null && c.toS < toS - 1 && !isNewPass(c.toS)).length,
  };
}

function typeOf(run: Gathered, emitter: string): string {
  const surveyed = run.driven.job.survey.emitters.find((e) => e.id === emitter)?.type;
  if (run.driven.job.surveyTold && surveyed !== undefined) return surveyed;
  const type = run.driven.context.emitters.find((e) => e.id === emitter)?.['type'];
  return typeof type === 'string' ? type : '';
}
