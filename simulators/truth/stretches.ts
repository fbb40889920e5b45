import type { TruePass, TrueVisit } from '../engineer/site.ts';
import type { TurbiditySpec } from '../sensors/turbidity.ts';
import { clearMoments, ownOf } from './clear.ts';
import { detectableNtu } from './detectable.ts';
import type { TruthRow } from './log.ts';

/**
 * From the opening or a pass's end until the next pass can be known of, or the shutting: what could rightly be said in
 * between. A pass that nobody told of can be known when its water has come.
 */
export interface TrueStretch {
  /** From here on what is said is about this stretch: the opening, or when its pass could be known. */
  readonly knownS: number;
  /** The opening, or the end of its pass. */
  readonly fromS: number;
  readonly toS: number;
  readonly clearS: number | null;
  readonly ownClearS: number | null;
  /** The same of all that the chambers would still catch. */
  readonly caughtS: number | null;
}

/** A pass as a listener meets it: told at this moment, or seen at the sensor then; null where neither ever happened. */
export function knownS(pass: TruePass, rows: readonly TruthRow[], sensor: TurbiditySpec): number | null {
  const seen = rows.find(
    (row) =>
      row.timeS > pass.startS &&
      row.slotVisit[pass.slot] === pass.visit &&
      (row.slotNtu[pass.slot] ?? 0) >= detectableNtu(sensor, row.totalNtu),
  );
  const times = [pass.toldS, seen?.timeS ?? null].filter((t) => t !== null);
  return times.length > 0 ? Math.min(...times) : null;
}

export interface VisitRows {
  readonly visit: TrueVisit;
  readonly toS: number;
  readonly passes: readonly TruePass[];
  readonly rows: readonly TruthRow[];
  readonly sensor: TurbiditySpec;
}

export function stretchesOf({ visit, toS, passes, rows, sensor }: VisitRows): TrueStretch[] {
  const known = passes.map((pass, n) => {
    // Its slot is taken again by the fourth pass after: what stands there then is another's.
    const reusedS = passes.find((p, m) => m > n && p.slot === pass.slot)?.startS ?? toS;
    return (
      knownS(
        pass,
        rows.filter((row) => row.timeS < reusedS),
        sensor,
      ) ?? toS
    );
  });
  return [null, ...passes].map((pass, n) => {
    const later = passes.slice(n);
    const fromS = pass?.endS ?? visit.fromS;
    const endS = Math.min(toS, ...later.map((p, m) => Math.max(p.startS, known[n + m] ?? toS)));
    const inside = rows.filter((row) => row.timeS >= fromS && row.timeS < endS);
    const peakNtu = rows.reduce(
      (peak, row) => (row.timeS < endS ? Math.max(peak, ownOf(row, 'slotNtu', visit.number, later)) : peak),
      0,
    );
    const { clearS, ownS, caughtS } = clearMoments({
      rows: inside,
      visit: visit.number,
      notYet: later,
      peakNtu,
      fromLitres: inside[0]?.litres ?? 0,
      pathL: pass?.pathL ?? visit.pathL,
    });
    return { knownS: pass ? (known[n - 1] ?? toS) : visit.fromS, fromS, toS: endS, clearS, ownClearS: ownS, caughtS };
  });
}
