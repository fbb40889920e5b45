import { createAnalysis, type RinseResult } from '../core/analyse.ts';
import type { RunContext } from '../core/job/context.ts';
import type { RunEvent } from '../core/job/event.ts';
import { trackVerdict, type VerdictSpan } from '../core/job/track.ts';
import type { Notice, Visit } from '../core/line/verdict.ts';
import type { Sample } from '../core/quantity/sample.ts';

/** Background and clear level as they stood at a moment; NTU. */
export interface Level {
  readonly timeS: number;
  readonly backgroundNtu: number | null;
  readonly clearNtu: number | null;
}

/** A run driven once more through the code that ran live, with what a chart needs kept along the way. */
export interface Driven {
  readonly visits: readonly Visit[];
  readonly rinse: RinseResult | null;
  readonly notices: readonly Notice[];
  readonly spans: readonly VerdictSpan[];
  /** About one a second. */
  readonly levels: readonly Level[];
}

/** Samples and events each in time order. @param settings as of `createAnalysis` */
export function drive(
  context: RunContext,
  samples: readonly Sample[],
  events: readonly RunEvent[],
  settings?: unknown,
): Driven {
  const analysis = createAnalysis(context, settings);
  const spans: VerdictSpan[] = [];
  const levels: Level[] = [];
  let next = 0;
  const feedEvents = (untilS: number): void => {
    for (let e = events[next]; e && e.timeS <= untilS; e = events[next]) {
      analysis.event(e);
      trackVerdict(spans, analysis.verdict);
      next += 1;
    }
  };
  if (events.length === 0)
    analysis.event({ timeS: Math.max(0, samples[0]?.timeS ?? 0), event: 'emitter-open', emitter: '', note: '' });
  for (const sample of samples) {
    feedEvents(sample.timeS);
    analysis.sample(sample);
    trackVerdict(spans, analysis.verdict);
    if (sample.timeS - (levels.at(-1)?.timeS ?? Number.NEGATIVE_INFINITY) < 1) continue;
    const { backgroundNtu, clearLevelNtu } = analysis.figures;
    levels.push({ timeS: sample.timeS, backgroundNtu, clearNtu: clearLevelNtu });
  }
  feedEvents(Number.POSITIVE_INFINITY);
  const { visits, rinse, notices } = analysis;
  return { visits, rinse, notices, spans, levels };
}
