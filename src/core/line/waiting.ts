import { unanswered } from './hindrance.ts';
import type { Loop } from './loop.ts';
import type { Passes } from './passes.ts';
import type { Reason } from './verdict.ts';

/** Litres since the last pass or, before the first, since the opening, and litres after which its water has gone by. */
export function litreFigures(loop: Loop, passes: Passes | null): Record<string, number> {
  const figures: Record<string, number> = {
    litresSincePassL: passes?.sinceL ?? 0,
    litresNeededL: passes?.neededL ?? 0,
  };
  // The water that stood in the emitter when it was opened is waited for, too; no pass may be told of then.
  if (passes?.record.passes.length === 0) figures['sinceOpening'] = 1;
  // Without a flow sensor the litres are reckoned; whoever reads the sentence must know.
  if (!loop.hasFlow) figures['reckonedLpm'] = loop.reckoned.lpm;
  return figures;
}

/** What is waited for before anything can be said of the water. */
export function waiting(loop: Loop, passes: Passes | null, ntu: number): Reason {
  const figures = litreFigures(loop, passes);
  if (Number.isFinite(ntu)) figures['ntu'] = ntu;
  if (passes?.isUnderWay) return { code: 'passing', figures };
  if (passes?.record.pulse) return { code: 'arriving', figures };
  return { code: unanswered(passes?.record ?? null), figures };
}
