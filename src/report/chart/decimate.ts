/** A value at a time; null where there is none. */
export type Point = readonly [timeS: number, value: number | null];

/** Smallest and largest of what falls on one column of the drawing, the one that came first given first. */
export interface Column {
  readonly column: number;
  readonly first: number;
  readonly second: number;
}

/**
 * A trace as at most one pair of values for each of `columns` columns, so that no spike is ever hidden and a chart of
 * eight hours is as small as one of eight minutes. Unbroken stretches are parted where more than `gapS` passes without
 * a value.
 */
export function decimate(
  points: readonly Point[],
  fromS: number,
  toS: number,
  columns: number,
  gapS: number,
): readonly (readonly Column[])[] {
  const stretches: Column[][] = [];
  let lastS = Number.NEGATIVE_INFINITY;
  let stretch: Column[] = [];
  let now: { column: number; min: number; max: number; minS: number; maxS: number } | null = null;
  const put = (): void => {
    if (!now) return;
    const [first, second] = now.minS <= now.maxS ? [now.min, now.max] : [now.max, now.min];
    stretch.push({ column: now.column, first, second });
    now = null;
  };
  for (const [timeS, value] of points) {
    if (value === null || timeS < fromS || timeS > toS) continue;
    if (timeS - lastS > gapS) {
      put();
      stretch = [];
      stretches.push(stretch);
    }
    lastS = timeS;
    const column = Math.min(columns - 1, Math.floor(((timeS - fromS) / Math.max(1e-9, toS - fromS)) * columns));
    if (now && now.column !== column) put();
    if (!now) now = { column, min: value, max: value, minS: timeS, maxS: timeS };
    if (value < now.min) [now.min, now.minS] = [value, timeS];
    if (value > now.max) [now.max, now.maxS] = [value, timeS];
  }
  put();
  return stretches.filter((s) => s.length > 0);
}
