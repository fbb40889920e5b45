import type { TruthRow } from './log.ts';

/**
 * When the return is truly clear. From that moment on, until the stretch ends,
 * (a) what stands, the echo included, over the level to which the return settles stays under the greater of 5 NTU and 5 % of
 *     the peak, and so does the fresh dirt by itself,
 * (b) at least 95 % of what was set free has passed the sensor (not asked where the peak stays under 5 NTU), and
 * (c) since the last agitation ended (or the opening) the litres of the path have flowed.
 */
export const clearNtu = 5;
export const clearShare = 0.05;
export const passedShare = 0.95;

/** Slots whose dirt does not count from a moment on. */
export type NotYet = readonly { readonly slot: number; readonly startS: number }[];

export interface Stretch {
  /** Rows of the stretch, in order. */
  readonly rows: readonly TruthRow[];
  /** The visit whose release it is about. */
  readonly visit: number;
  /** Passes that nobody can know of yet: their dirt is not this stretch's. */
  readonly notYet: NotYet;
  /** Highest that this visit's own release has stood at the sensor so far, on its first way through. */
  readonly peakNtu: number;
  /** Litres flowed when the last agitation ended, or when the emitter was opened. */
  readonly fromLitres: number;
  readonly pathL: number;
}

function isLeftOut(row: TruthRow, slot: number, notYet: NotYet): boolean {
  return notYet.some((pass) => pass.slot === slot && row.timeS > pass.startS);
}

/** Fresh dirt at the sensor, of every visit. */
export function freshNtu(row: TruthRow, notYet: NotYet = []): number {
  return row.slotNtu.reduce((sum, ntu, slot) => (isLeftOut(row, slot, notYet) ? sum : sum + ntu), 0);
}

/** A visit's own part of any value kept by slot. */
export function ownOf(
  row: TruthRow,
  values: 'slotNtu' | 'slotPassedNtuL' | 'slotWaterNtuL',
  visit: number,
  notYet: NotYet = [],
): number {
  return row[values].reduce(
    (sum, x, slot) => (row.slotVisit[slot] !== visit || isLeftOut(row, slot, notYet) ? sum : sum + x),
    0,
  );
}

/**
 * What would still stand over the water that the chambers leave after a quarter of an hour more, seen from each row: the fresh
 * dirt, and the echo but for what they never catch. Stricter than what is asked of a clear: an echo that has evened out and
 * stands still counts as well.
 */
export function stillToCatch(rows: readonly TruthRow[], notYet: NotYet = []): number[] {
  const out = rows.map((row) => freshNtu(row, notYet));
  let lowest = Number.POSITIVE_INFINITY;
  for (let i = rows.length - 1; i >= 0; i -= 1) {
    const row = rows[i];
    if (!row) continue;
    lowest = Math.min(lowest, row.settledEchoNtu);
    out[i] = (out[i] ?? 0) + Math.max(0, row.echoNtu - lowest);
  }
  return out;
}

export interface ClearMoments {
  /** The true clear: the echo counted over the level to which the return settles. */
  readonly clearS: number | null;
  /** Of the fresh dirt alone. */
  readonly ownS: number | null;
  /** Of all that the chambers would still catch. */
  readonly caughtS: number | null;
}

/** Beginnings of the true clear, each null where there is none. */
export function clearMoments(stretch: Stretch): ClearMoments {
  const { rows, visit, notYet, fromLitres, pathL } = stretch;
  const limit = Math.max(clearNtu, clearShare * stretch.peakNtu);
  const asked = stretch.peakNtu >= clearNtu;
  const end = rows.at(-1);
  // Set free is what came into the water and did not settle again: what passed, and what at the end is still on its way.
  const freed = end ? ownOf(end, 'slotPassedNtuL', visit, notYet) + ownOf(end, 'slotWaterNtuL', visit, notYet) : 0;
  const flowed = (row: TruthRow) => row.litres - fromLitres >= pathL;
  const stands = rows.map((row) => freshNtu(row, notYet) + row.echoNtu);
  // The level to which the return settles: the least at which it stood once the pass was answered.
  const settledNtu = Math.min(...stands.filter((_, i) => flowed(rows[i] as TruthRow)));
  const toCatch = stillToCatch(rows, notYet);
  const moments: Record<keyof ClearMoments, number | null> = { clearS: null, ownS: null, caughtS: null };
  const open = new Set<keyof ClearMoments>(['clearS', 'ownS', 'caughtS']);
  for (let i = rows.length - 1; i >= 0 && open.size > 0; i -= 1) {
    const row = rows[i];
    if (!row) break;
    const gone = ownOf(row, 'slotPassedNtuL', visit, notYet) >= passedShare * freed;
    // A visit's own tail is dirt at whatever level it stands.
    if (!flowed(row) || (asked && !gone) || freshNtu(row, notYet) >= limit) break;
    if ((stands[i] ?? 0) - settledNtu >= limit) open.delete('clearS');
    if ((toCatch[i] ?? 0) >= limit) open.delete('caughtS');
    for (const moment of open) moments[moment] = row.timeS;
  }
  return moments;
}
