/**
 * Range of an axis that does not jump: fixed from the start; grows at once to the next 1-2-5 step when exceeded, shrinks
 * only after 60 s below, and never changes twice within 10 s except to grow.
 */
export interface AxisRange {
  /** @param highest Highest value shown now; null when nothing is shown. @param nowMs Monotonic. */
  top(highest: number | null, nowMs: number): number;
}

const shrinkAfterMs = 60_000;
const restMs = 10_000;

export function nextStep(value: number): number {
  const power = 10 ** Math.floor(Math.log10(value));
  const step = [1, 2, 5, 10].find((s) => s * power >= value) ?? 10;
  return step * power;
}

export function createRange(usualTop: number): AxisRange {
  let top = usualTop;
  let changedMs = Number.NEGATIVE_INFINITY;
  let belowSinceMs: number | null = null;
  return {
    top(highest, nowMs) {
      const wanted = highest === null || highest <= usualTop ? usualTop : nextStep(highest);
      if (wanted > top) {
        top = wanted;
        changedMs = nowMs;
        belowSinceMs = null;
      } else if (wanted < top) {
        belowSinceMs ??= nowMs;
        if (nowMs - belowSinceMs >= shrinkAfterMs && nowMs - changedMs >= restMs) {
          top = wanted;
          changedMs = nowMs;
          belowSinceMs = null;
        }
      } else belowSinceMs = null;
      return top;
    },
  };
}
