import { exact, minus, times, type Uncertain } from '../quantity/interval.ts';

/** Share of its water that an emitter keeps while it is shaken: about half. Common practice, no source. */
export const halfFill = 0.5;

export interface HalfFill {
  readonly toDropL: Uncertain;
  /** Dropped so far by scale, bucket or meter; null: not measured. */
  readonly leftToDropL: Uncertain | null;
  readonly fillNow: number | null;
}

/** Litres to drop from a full emitter so that it keeps `keep` of its water, and how far that has come. */
export function halfFillOf(contentL: Uncertain, droppedL: Uncertain | null, keep: number = halfFill): HalfFill {
  const toDropL = times(contentL, exact(1 - keep));
  if (droppedL === null) return { toDropL, leftToDropL: null, fillNow: null };
  return {
    toDropL,
    leftToDropL: minus(toDropL, droppedL),
    fillNow: Math.max(0, Math.min(1, 1 - droppedL.value / contentL.value)),
  };
}
