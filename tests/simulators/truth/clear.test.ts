import { describe, expect, it } from 'vitest';
import { clearMoments, remainders } from '../../../simulators/truth/clear.ts';
import type { TruthRow } from '../../../simulators/truth/log.ts';

/** Rows a second apart at 12 l/min, of a pulse that falls by half every 10 s, drawn by hand. */
function rows(count: number, of: (timeS: number) => Partial<TruthRow>): TruthRow[] {
  return Array.from({ length: count }, (_, timeS) => ({
    timeS,
    totalNtu: 20,
    backgroundNtu: 20,
    echoNtu: 0,
    evenEchoNtu: 0,
    slotNtu: [0, 0, 0, 0],
    slotVisit: [1, 0, 0, 0],
    ownNtu: 0,
    ownPassedNtuL: 100,
    ownToComeNtuL: 0,
    litres: timeS * 0.2,
    flowLpm: 12,
    conductivityUsCm: 1000,
    foulingNtu: 0,
    chamberLoad: 0,
    passFraction: 0.1,
    flowKnown: true,
    blind: 'none',
    ...of(timeS),
  }));
}
const falling = (timeS: number) => {
  const ntu = 400 * 2 ** (-timeS / 10);
  return { totalNtu: 20 + ntu, slotNtu: [ntu, 0, 0, 0], ownNtu: ntu };
};

describe('the true clear moment', () => {
  it('is where the remainder falls for good under 5 % of the peak', () => {
    const { clearS, ownS } = clearMoments({ rows: rows(200, falling), peakNtu: 400, fromLitres: 0, pathL: 1 });
    // 400 to 20 NTU: log2(20) times 10 s = 43.2 s.
    expect(clearS).toBe(44);
    expect(ownS).toBe(44);
  });

  it('waits for the litres of the path, and for 95 % to have passed', () => {
    const base = { peakNtu: 400, fromLitres: 0 };
    expect(clearMoments({ ...base, rows: rows(200, falling), pathL: 14 }).clearS).toBe(70);
    const late = rows(200, (t) => ({
      ...falling(t),
      ownPassedNtuL: Math.min(95, t),
      ownToComeNtuL: Math.max(5, 100 - t),
    }));
    expect(clearMoments({ ...base, rows: late, pathL: 1 }).clearS).toBe(95);
    // Of next to nothing nobody asks whether it has passed.
    expect(
      clearMoments({ rows: late.map((r) => ({ ...r, slotNtu: [1, 0, 0, 0] })), peakNtu: 3, fromLitres: 0, pathL: 1 })
        .clearS,
    ).toBe(5);
  });

  it('is not yet there while an echo is still to come round, though the own dirt has gone by', () => {
    const withEcho = rows(200, (t) => {
      const echo = 60 * Math.exp(-(((t - 100) / 10) ** 2));
      return { ...falling(t), totalNtu: falling(t).totalNtu + echo, echoNtu: echo, evenEchoNtu: 5 };
    });
    const { clearS, ownS } = clearMoments({ rows: withEcho, peakNtu: 400, fromLitres: 0, pathL: 1 });
    expect(ownS).toBe(44);
    expect(clearS).toBeGreaterThan(105);
  });

  it('never comes when the engineer leaves before, and is null without rows', () => {
    expect(clearMoments({ rows: rows(40, falling), peakNtu: 400, fromLitres: 0, pathL: 1 }).clearS).toBeNull();
    expect(clearMoments({ rows: [], peakNtu: 400, fromLitres: 0, pathL: 1 }).clearS).toBeNull();
  });

  it('counts over the background as it is there: a dip and the way back are no pulse', () => {
    const dip = rows(200, (t) => {
      const backgroundNtu = t > 50 && t < 80 ? 8 : 20;
      return { backgroundNtu, totalNtu: backgroundNtu };
    });
    expect(clearMoments({ rows: dip, peakNtu: 2, fromLitres: 0, pathL: 1 }).clearS).toBe(5);
  });

  it('takes the evened-out echo at its lowest to come, and no missing echo for a credit', () => {
    const over = remainders(
      rows(4, (t) => ({ echoNtu: [10, 2, 6, 9][t] ?? 0, evenEchoNtu: [9, 3, 6, 4][t] ?? 0, slotNtu: [7, 0, 0, 0] })),
    );
    expect(over).toEqual([14, 7, 9, 12]);
  });
});
