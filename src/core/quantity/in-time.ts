/** What has a time and stands in the order of time: samples, seconds. */
interface Timed {
  readonly timeS: number;
}

/** Index of the first at or after a time; the length where there is none. */
export function indexAt(all: readonly Timed[], timeS: number): number {
  let low = 0;
  let high = all.length;
  while (low < high) {
    const middle = (low + high) >> 1;
    if ((all[middle]?.timeS ?? 0) < timeS) low = middle + 1;
    else high = middle;
  }
  return low;
}

/** Those with fromS <= timeS <= toS. */
export function between<T extends Timed>(all: readonly T[], fromS: number, toS: number): readonly T[] {
  return all.slice(indexAt(all, fromS), indexAt(all, toS + 1e-9));
}
