import type { TruthRow } from './log.ts';

/**
 * When the return is truly clear. From that moment on, until the stretch ends,
 * (a) what stands over the level to which the return settles stays under the greater of 5 NTU and 5 % of the peak,
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
 * What stands over the level to which the return settles, seen from each row: the fresh dirt, and the echo as far as it is
 * over the level to which it settles (at its lowest from there to the end of the stretch: it only falls). An echo that has
 * evened out and that the chambers will still catch counts in full. The background counts as it is there, so a dip and the
 * way back are nothing.
 */
export function remainders(rows: readonly TruthRow[], notYet: NotYet = []): number[] {
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

/** Start of the true clear, or null; with the echo counted, and of the fresh dirt alone. */
export function clearMoments(stretch: Stretch): { clearS: number | null; ownS: number | null } {
  const { rows, visit, notYet } = stretch;
  const over = remainders(rows, notYet);
  const limit = Math.max(clearNtu, clearShare * stretch.peakNtu);
  const asked = stretch.peakNtu >= clearNtu;
  const end = rows.at(-1);
  // Set free is what came into the water and did not settle again: what passed, and what at the end is still on its way.
  const freed = end ? ownOf(end, 'slotPassedNtuL', visit, notYet) + ownOf(end, 'slotWaterNtuL', visit, notYet) : 0;
  let clearS: number | null = null;
  let ownS: number | null = null;
  let all = true;
  let own = true;
  for (let i = rows.length - 1; i >= 0 && (all || own); i -= 1) {
    const row = rows[i];
    if (!row) break;
    const flowed = row.litres - stretch.fromLitres >= stretch.pathL;
    const gone = ownOf(row, 'slotPassedNtuL', visit, notYet) >= passedShare * freed;
    all &&= flowed && (gone || !asked) && (over[i] ?? 0) < limit;
    own &&= flowed && (gone || !asked) && freshNtu(row, notYet) < limit;
    if (all) clearS = row.timeS;
    if (own) ownS = row.timeS;
  }
  return { clearS, ownS };
}
