/** A sample of runs to look at again, and what it takes to draw the very same one once more. */
export interface Lot {
  readonly seed: string;
  readonly of: number;
  /** In the order drawn. */
  readonly picked: readonly string[];
}

/**
 * Draws `count` runs by lot. The seed is recorded with them, so that nobody can say they were chosen: the same seed and
 * ids give the same sample, in whatever order the ids came. Each run gets a number from seed and id, and the smallest
 * are taken; a run that joins later never changes the order of the others. The number is FNV-1a (32 bits) with the
 * finalizer of MurmurHash3: even enough for a lot, and no secret.
 */
export function pickByLot(runIds: readonly string[], count: number, seed: string): Lot {
  const ids = [...new Set(runIds)];
  const drawn = ids
    .map((id) => ({ id, lot: lotOf(`${seed}\n${id}`) }))
    .sort((a, b) => a.lot - b.lot || (a.id < b.id ? -1 : 1));
  return { seed, of: ids.length, picked: drawn.slice(0, Math.max(0, count)).map((d) => d.id) };
}

function lotOf(text: string): number {
  let hash = 0x811c9dc5;
  for (let i = 0; i < text.length; i += 1) {
    const unit = text.charCodeAt(i);
    hash = Math.imul(hash ^ (unit & 0xff), 0x01000193);
    hash = Math.imul(hash ^ (unit >>> 8), 0x01000193);
  }
  hash = Math.imul(hash ^ (hash >>> 16), 0x85ebca6b);
  hash = Math.imul(hash ^ (hash >>> 13), 0xc2b2ae35);
  return (hash ^ (hash >>> 16)) >>> 0;
}
