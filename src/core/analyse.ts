import type { RunContext } from './job/context.ts';
import type { RunEvent } from './job/event.ts';
import type { LineFigures, Notice, Verdict, Visit } from './line/verdict.ts';
import type { Sample } from './quantity/sample.ts';

/**
 * The one door to the core: live bridge, replay, audit, command line, benchmark and browser all drive this interface,
 * so a verdict is computed in one place. Samples and events are fed in time order (strictly increasing `timeS`;
 * `advance` may be called between them at any time). Everything said at time t depends on what came up to t alone:
 * deadlines that lie between two inputs are processed at their own time, whether or not `advance` was called.
 */
export interface Analysis {
  sample(sample: Sample): void;
  event(event: RunEvent): void;
  /** Let time pass without input (silence is data). */
  advance(timeS: number): void;
  /** The verdict as it stands. */
  readonly verdict: Verdict;
  readonly figures: LineFigures;
  /** The visit under way, or null. */
  readonly visit: Visit | null;
  /** All visits so far, oldest first, the current one included. */
  readonly visits: readonly Visit[];
  readonly rinse: RinseResult | null;
  readonly notices: readonly Notice[];
}

export interface RinseResult {
  readonly clearAtS: number | null;
  readonly withheld: boolean;
  readonly verdict: Verdict;
}

export type CreateAnalysis = (context: RunContext, settings?: unknown) => Analysis;
