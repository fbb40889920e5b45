import { limitsFor } from '../core/alarm/watch.ts';
import type { Analysis } from '../core/analyse.ts';
import type { RunContext } from '../core/job/context.ts';
import { contextNow, tellsContext } from '../core/job/context-now.ts';
import { fold } from '../core/job/fold.ts';
import { RunAlarms } from '../core/job/run-alarms.ts';
import { type JobState, startState } from '../core/job/state.ts';
import { type LiveFigures, StageLive } from '../core/job/stages/live.ts';
import { trackVerdict, type VerdictSpan } from '../core/job/track.ts';
import type { Sample } from '../core/quantity/sample.ts';
import type { TraceRow } from '../server/protocol.ts';
import type { RunStore, StoredEvent } from '../store/store.ts';
import { outOfOrder } from './out-of-order.ts';
import { Trace, traceRow } from './trace.ts';

/** A pause longer than this is drawn as a gap, run-clock seconds. */
const gapS = 3;

/**
 * What a run has come to: job, analysis, verdicts shown, trace. Fed with committed events and samples in time order;
 * the same whether they come from the kit or, after a restart, from the store.
 */
export class Course {
  readonly trace = new Trace();
  readonly spans: VerdictSpan[] = [];
  state: JobState;
  lastSampleS: number | null = null;
  lastTurbidityS: number | null = null;
  analysis: Analysis;
  private readonly head: RunContext;
  private begun = false;
  private readonly excessNtu = (): number | null => this.analysis.figures.excessNtu;
  private readonly stages: StageLive;
  readonly alarms: RunAlarms;
  private readonly fault: (error: unknown) => void;

  /**
   * `head`: what the run began with, and the analysis with it; `system`: as the survey has it, for what is watched and shown
   * beside the verdict.
   */
  constructor(
    head: RunContext,
    system: NonNullable<RunContext['system']>,
    analysis: Analysis,
    fault: (error: unknown) => void,
  ) {
    this.head = head;
    this.analysis = analysis;
    this.state = startState(head);
    this.stages = new StageLive(system);
    this.alarms = new RunAlarms(limitsFor(system));
    this.fault = fault;
  }

  /** A fault of the analysis must neither stop the record nor leave a verdict standing. */
  private judge(timeS: number, feed: (analysis: Analysis) => void): void {
    try {
      this.alarms.advance(timeS, this.analysis, this.state.job);
      feed(this.analysis);
    } catch (error) {
      this.fault(error);
      this.analysis = outOfOrder(this.analysis, timeS);
    }
    trackVerdict(this.spans, this.analysis.verdict);
  }

  /** The rows that this sample adds to the trace: its own, after a gap when one was there. */
  sample(sample: Sample): TraceRow[] {
    this.judge(sample.timeS, (analysis) => analysis.sample(sample));
    this.alarms.sample(sample);
    this.stages.sample(sample, this.excessNtu);
    this.begun = true;
    const rows: TraceRow[] = [];
    if (this.lastSampleS !== null && sample.timeS - this.lastSampleS > gapS)
      rows.push(gapRow(this.lastSampleS + 0.001));
    rows.push(this.rowOf(sample));
    for (const row of rows) this.trace.add(row);
    this.lastSampleS = sample.timeS;
    if (sample.turbidityNtu !== null) this.lastTurbidityS = sample.timeS;
    return rows;
  }

  event(stored: StoredEvent): void {
    if (stored.event.event === 'samples-kept') return this.told(stored);
    // What was due before it is looked at first.
    this.judge(stored.event.timeS, (analysis) => analysis.event(stored.event));
    this.told(stored);
    if (tellsContext(stored.event)) this.analysis.know(contextNow(this.head, this.state.job));
    this.alarms.event(stored.event);
    this.stages.event(stored.event, this.state.job);
    this.begun = true;
  }

  private told({ id, event, who }: StoredEvent): void {
    this.state = fold(this.state, { id, event, who });
  }

  /** What the stages show of the samples, as of now. */
  live(timeS: number): LiveFigures {
    return this.stages.figures(timeS);
  }

  /** Time went by. Before the first input there is nothing that could become stale. */
  advance(timeS: number): void {
    if (!this.begun) return;
    this.judge(timeS, (analysis) => analysis.advance(timeS));
  }

  private rowOf(sample: Sample): TraceRow {
    const { backgroundNtu, clearLevelNtu } = this.analysis.figures;
    return traceRow(sample, backgroundNtu, clearLevelNtu);
  }
}

function gapRow(timeS: number): TraceRow {
  return [timeS, null, null, null, null, null, null, null, null, null];
}

/** Feed the course with all that the store holds, so that a run goes on where it was. */
export function resume(course: Course, store: RunStore): void {
  const events = store.events().filter((e) => e.event.event !== 'samples-kept');
  let next = 0;
  for (const sample of store.samples()) {
    for (let e = events[next]; e && e.event.timeS < sample.timeS; e = events[++next]) course.event(e);
    course.sample(sample);
  }
  for (const stored of events.slice(next)) course.event(stored);
}
