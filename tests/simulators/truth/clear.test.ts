import { describe, expect, it } from 'vitest';
import { clearMoments, stillToCatch } from '../../../simulators/truth/clear.ts';
import type { TruthRow } from '../../../simulators/truth/log.ts';
import { quietRow } from './quiet-row.ts';

/** Rows a second apart at 12 l/min, of a pulse that falls by half every 10 s, drawn by hand. */
function rows(count: number, of: (timeS: number) => Partial<TruthRow>): TruthRow[] {
  return Array.from({ length: count }, (_, timeS) => ({ ...quietRow(timeS), ...of(timeS) }));
}
const falling = (timeS: number) => {
  const ntu = 400 * 2 ** (-timeS / 10);
  return { totalNtu: 20 + ntu, slotNtu: [ntu, 0, 0, 0] };
};

const whole = { visit: 1, notYet: [] };

describe('the true clear moment', () => {
  it('is where the remainder falls for good under 5 % of the peak', () => {
    const { clearS, ownS } = clearMoments({
      ...whole,
      rows: rows(200, falling),
      peakNtu: 400,
      fromLitres: 0,
      pathL: 1,
    });
    // 400 to 20 NTU: log2(20) times 10 s = 43.2 s.
    expect(clearS).toBe(44);
    expect(ownS).toBe(44);
  });

  it('waits for the litres of the path, and for 95 % to have passed', () => {
    const base = { ...whole, peakNtu: 400, fromLitres: 0 };
    expect(clearMoments({ ...base, rows: rows(200, falling), pathL: 14 }).clearS).toBe(70);
    const late = rows(200, (t) => ({
      ...falling(t),
      slotPassedNtuL: [Math.min(95, t), 0, 0, 0],
      slotWaterNtuL: [Math.max(5, 100 - t), 0, 0, 0],
    }));
    expect(clearMoments({ ...base, rows: late, pathL: 1 }).clearS).toBe(95);
    // Of next to nothing nobody asks whether it has passed.
    expect(
      clearMoments({
        ...whole,
        rows: late.map((r) => ({ ...r, slotNtu: [1, 0, 0, 0] })),
        peakNtu: 3,
        fromLitres: 0,
        pathL: 1,
      }).clearS,
    ).toBe(5);
  });

  it('is not yet there while an echo is still to come round, though the own dirt has gone by', () => {
    const withEcho = rows(200, (t) => {
      const echo = 60 * Math.exp(-(((t - 100) / 10) ** 2));
      return { ...falling(t), totalNtu: falling(t).totalNtu + echo, echoNtu: echo, settledEchoNtu: 5 };
    });
    const { clearS, ownS } = clearMoments({ ...whole, rows: withEcho, peakNtu: 400, fromLitres: 0, pathL: 1 });
    expect(ownS).toBe(44);
    expect(clearS).toBeGreaterThan(105);
  });

  it('never comes when the engineer leaves before, and is null without rows', () => {
    expect(
      clearMoments({ ...whole, rows: rows(40, falling), peakNtu: 400, fromLitres: 0, pathL: 1 }).clearS,
    ).toBeNull();
    expect(clearMoments({ ...whole, rows: [], peakNtu: 400, fromLitres: 0, pathL: 1 }).clearS).toBeNull();
  });

  it('counts over the background as it is there: a dip and the way back are no pulse', () => {
    const dip = rows(200, (t) => {
      const backgroundNtu = t > 50 && t < 80 ? 8 : 20;
      return { backgroundNtu, totalNtu: backgroundNtu };
    });
    expect(clearMoments({ ...whole, rows: dip, peakNtu: 2, fromLitres: 0, pathL: 1 }).clearS).toBe(5);
  });

  it('leaves out what a pass set free that nobody can know of yet', () => {
    const both = rows(120, (t) => ({
      ...falling(t),
      slotNtu: [400 * 2 ** (-t / 10), t > 60 ? 30 : 0, 0, 0],
      slotVisit: [1, 1, 0, 0],
    }));
    const stretch = { ...whole, rows: both, peakNtu: 400, fromLitres: 0, pathL: 1 };
    expect(clearMoments(stretch).clearS).toBeNull();
    expect(clearMoments({ ...stretch, notYet: [{ slot: 1, startS: 50 }] }).clearS).toBe(44);
    // What stood in that slot before is an older pass's and counts.
    expect(clearMoments({ ...stretch, notYet: [{ slot: 1, startS: 90 }] }).clearS).toBe(91);
  });

  it('takes an echo that has evened out for the level to which the return settles, and tells that it is still to be caught', () => {
    const stands = (risesS: number) =>
      rows(200, (t) => ({ ...falling(t), echoNtu: t > risesS ? 40 : 0, settledEchoNtu: 5 }));
    const base = { ...whole, peakNtu: 400, fromLitres: 0, pathL: 1 };
    const even = clearMoments({ ...base, rows: stands(2) });
    expect(even).toEqual({ clearS: 44, ownS: 44, caughtS: null });
    // One that comes when the water had been clear already is dirt.
    expect(clearMoments({ ...base, rows: stands(100) })).toEqual({ clearS: null, ownS: 44, caughtS: null });
  });

  it("never takes the visit's own tail for a settled level", () => {
    const tail = rows(200, () => ({ totalNtu: 50, slotNtu: [30, 0, 0, 0] }));
    expect(clearMoments({ ...whole, rows: tail, peakNtu: 400, fromLitres: 0, pathL: 1 }).clearS).toBeNull();
  });

  it('reckons what is still to be caught over what the chambers leave at their lowest, and no missing echo for a credit', () => {
    const over = stillToCatch(
      rows(4, (t) => ({ echoNtu: [10, 2, 6, 9][t] ?? 0, settledEchoNtu: [9, 3, 6, 4][t] ?? 0, slotNtu: [7, 0, 0, 0] })),
    );
    expect(over).toEqual([14, 7, 9, 12]);
  });
});
