/** What the proposal needs of an emitter. `floor` counts up from the ground; `pathL` is pipe litres to the rig, if known. */
export interface Placed {
  readonly id: string;
  readonly floor: number;
  readonly pathL: number | null;
}

export interface Proposed {
  readonly id: string;
  /** Names a sentence of the message room. */
  readonly reason: 'order-top-floor' | 'order-furthest' | 'order-nearer' | 'order-as-listed';
}

/**
 * Proposed visiting order: top floor first, for what is shaken loose sinks; on a floor the longest way to the rig first,
 * so that its dirt crosses the shared pipes before the nearer emitters are cleaned. Common practice, no source; the
 * engineer can change it. Without known paths the order of the list is kept.
 */
export function visitingOrder(emitters: readonly Placed[]): readonly Proposed[] {
  const topFloor = Math.max(...emitters.map((e) => e.floor));
  const severalFloors = emitters.some((e) => e.floor !== topFloor);
  const sorted = emitters
    .map((e, i) => ({ e, i }))
    .sort((a, b) => b.e.floor - a.e.floor || (b.e.pathL ?? -1) - (a.e.pathL ?? -1) || a.i - b.i)
    .map(({ e }) => e);
  const seen = new Set<number>();
  return sorted.map((e) => {
    const isFirst = !seen.has(e.floor);
    seen.add(e.floor);
    if (e.pathL === null)
      return {
        id: e.id,
        reason: severalFloors && isFirst && e.floor === topFloor ? 'order-top-floor' : 'order-as-listed',
      };
    if (isFirst && severalFloors && e.floor === topFloor) return { id: e.id, reason: 'order-top-floor' };
    return { id: e.id, reason: isFirst ? 'order-furthest' : 'order-nearer' };
  });
}
