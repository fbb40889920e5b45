/** The middle one; of an even number the upper of the two. */
export function medianOf(values: readonly number[]): number {
  const sorted = values.toSorted((a, b) => a - b);
  return sorted[sorted.length >> 1] ?? Number.NaN;
}

/**
 * Slope that single wild values do not move: the median of the slopes between all pairs of points (Theil, 1950; Sen,
 * J. Am. Stat. Assoc. 63, 1379, 1968).
 */
export function slopeOf(points: readonly (readonly [x: number, y: number])[]): number {
  const slopes: number[] = [];
  for (const [i, [x, y]] of points.entries())
    for (const [x2, y2] of points.slice(i + 1)) if (x2 !== x) slopes.push((y2 - y) / (x2 - x));
  return medianOf(slopes);
}
