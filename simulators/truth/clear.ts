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

export interface Stretch {
  /** Rows of the stretch, in order. */
  readonly rows: readonly TruthRow[];
  /** Highest remainder of the visit so far. */
  readonly peakNtu: number;
  /** Litres flowed when the last agitation ended, or when the emitter was opened. */
  readonly fromLitres: number;
  readonly pathL: number;
}

/**
 * What stands over the level to which the return settles, seen from each row: the fresh dirt, and the echo as far as it is
 * over its evened-out level at its lowest from there to the end of the stretch (that only falls as the chambers catch more
 * of it). The background counts as it is there, so a dip and the way back are nothing.
 */
export function remainders(rows: readonly TruthRow[]): number[] {
  const out = rows.map((row) => row.slotNtu.reduce((sum, x) => sum + x, 0));
  let lowest = Number.POSITIVE_INFINITY;
  for (let i = rows.length - 1; i >= 0; i -= 1) {
    const row = rows[i];
    if (!row) continue;
    lowest = Math.min(lowest, row.evenEchoNtu);
    out[i] = (out[i] ?? 0) + Math.max(0, row.echoNtu - lowest);
  }
  return out;
}

/** Start of the true clear, or null; with the echo counted, and of the fresh dirt alone. */
export function clearMoments(stretch: Stretch): { clearS: number | null; ownS: number | null } {
  const over = remainders(stretch.rows);
  const limit = Math.max(clearNtu, clearShare * stretch.peakNtu);
  const asked = stretch.peakNtu >= clearNtu;
  let clearS: number | null = null;
  let ownS: number | null = null;
  let all = true;
  let own = true;
  for (let i = stretch.rows.length - 1; i >= 0 && (all || own); i -= 1) {
    const row = stretch.rows[i];
    if (!row) break;
    const flowed = row.litres - stretch.fromLitres >= stretch.pathL;
    const freed = row.ownPassedNtuL + row.ownToComeNtuL;
    const gone = row.ownPassedNtuL >= passedShare * freed;
    const fresh = row.slotNtu.reduce((sum, x) => sum + x, 0);
    all &&= flowed && (gone || !asked) && (over[i] ?? 0) < limit;
    own &&= flowed && (gone || !asked) && fresh < limit;
    if (all) clearS = row.timeS;
    if (own) ownS = row.timeS;
  }
  return { clearS, ownS };
}
