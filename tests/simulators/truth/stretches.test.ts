import { describe, expect, it } from 'vitest';
import type { TruePass } from '../../../simulators/engineer/site.ts';
import { seeingS, withholding } from '../../../simulators/truth/blind.ts';
import { detectableNtu } from '../../../simulators/truth/detectable.ts';
import type { TruthRow } from '../../../simulators/truth/log.ts';
import { releasesOf, stirsOf } from '../../../simulators/truth/releases.ts';
import { stretchesOf } from '../../../simulators/truth/stretches.ts';
import { quietRow } from './quiet-row.ts';

const sensor = { noiseNtu: 1, noiseShare: 0, loNtu: 0, hiNtu: 4000, stepNtu: 1, lagS: 0.5, foldNtu: null };
const visit = { number: 1, emitter: 0, fromS: 0, toldFromS: 0, toldToS: 400, toS: 400, pathL: 2 };

/** A visit drawn by hand, 12 l/min: pulses of 100 NTU that stand 20 to 40 s after the start of their pass. */
function rowsOf(passes: readonly TruePass[], change: (timeS: number) => Partial<TruthRow> = () => ({})): TruthRow[] {
  return Array.from({ length: 400 }, (_, timeS) => {
    const slotNtu = [0, 0, 0, 0];
    const slotPassedNtuL = [0, 0, 0, 0];
    for (const p of passes) {
      const since = timeS - p.startS;
      if (since >= 20 && since < 40) slotNtu[p.slot] = 100;
      slotPassedNtuL[p.slot] = 20 * Math.max(0, Math.min(20, since - 20));
    }
    const totalNtu = 10 + slotNtu.reduce((a, b) => a + b, 0);
    return {
      ...quietRow(timeS),
      totalNtu,
      backgroundNtu: 10,
      slotNtu,
      slotVisit: [1, 1, 1, 1],
      slotPassedNtuL,
      ...change(timeS),
    };
  });
}
const pass = (slot: number, startS: number, toldS: number | null): TruePass => ({
  visit: 1,
  slot,
  startS,
  endS: startS + 30,
  toldS,
  pathL: 2,
});

describe('what could be known, and when', () => {
  it('lets a stretch go on until the next pass is told, or its water has come', () => {
    const told = [pass(1, 50, 50), pass(2, 200, 205)];
    const [opening, first, last] = stretchesOf({ visit, toS: 400, passes: told, rows: rowsOf(told), sensor });
    expect([opening?.toS, first?.toS, last?.toS]).toEqual([50, 205, 400]);
    expect([opening?.clearS, first?.clearS, last?.clearS]).toEqual([10, 90, 240]);
    // Untold: nobody can know of it before its water stands at the sensor.
    const untold = [pass(1, 50, 50), pass(2, 200, null)];
    const again = stretchesOf({ visit, toS: 400, passes: untold, rows: rowsOf(untold), sensor });
    expect(again.map((s) => s.toS)).toEqual([50, 220, 400]);
    expect(again.map((s) => s.knownS)).toEqual([0, 50, 220]);
    expect(again[1]?.clearS).toBe(90);
  });

  it('asks for a front that lifts the water by more than three times the noise and one step', () => {
    expect(detectableNtu(sensor, 500)).toBe(4);
    const passes = [pass(1, 50, 50), pass(2, 60, 60)];
    const rows = rowsOf(passes);
    expect(releasesOf({ visit, passes, rows, sensor }).map((r) => [r.onsetS, r.isDue])).toEqual([
      [70, true],
      [80, true],
    ]);
    const deaf = { ...sensor, noiseNtu: 60 };
    expect(releasesOf({ visit, passes, rows, sensor: deaf }).every((r) => !r.isDue)).toBe(true);
    // Its water comes while more of an older pass's goes: there is no front to see.
    const masked = rowsOf(passes, (t) => ({ totalNtu: 500 - t }));
    expect(releasesOf({ visit, passes, rows: masked, sensor }).every((r) => !r.isDue)).toBe(true);
  });

  it('knows where the water truly got dirtier, whatever brought it', () => {
    const rows = rowsOf([], (t) => ({ totalNtu: t >= 150 && t < 200 ? 30 : 10 }));
    expect(stirsOf(rows, sensor)).toEqual([{ fromS: 115, toS: 169 }]);
    expect(stirsOf(rowsOf([]), sensor)).toEqual([]);
  });

  it('counts the time in which one could see, and refuses for what stands at the end', () => {
    expect(seeingS([{ fromS: 10, toS: 30, why: 'stuck' }], 20, 60)).toBe(30);
    const dark = rowsOf([], (t) => (t > 390 ? { blind: 'dark' } : {}));
    expect(withholding(dark, 0)).toEqual({ must: true, may: true, why: 'dark' });
    expect(withholding(rowsOf([]), 0)).toEqual({ must: false, may: false, why: 'none' });
    expect(
      withholding(
        rowsOf([], () => ({ foulingNtu: 5 })),
        0,
      ).why,
    ).toBe('fouled');
  });
});
