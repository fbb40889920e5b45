import { describe, expect, it } from 'vitest';
import {
  arlForBudget,
  cusumArl,
  cusumArlTwoSided,
  cusumThreshold,
  falseAlarmChance,
  glrThreshold,
} from '../../src/core/changepoint/arl.ts';
import { Bocpd } from '../../src/core/changepoint/bocpd.ts';
import { leastDelay } from '../../src/core/changepoint/bound.ts';
import { MeanCost } from '../../src/core/changepoint/cost-mean.ts';
import { MeanVarCost } from '../../src/core/changepoint/cost-mean-var.ts';
import { RobustCost } from '../../src/core/changepoint/cost-robust.ts';
import { Cusum } from '../../src/core/changepoint/cusum.ts';
import type { Detector } from '../../src/core/changepoint/detector.ts';
import { Ewma } from '../../src/core/changepoint/ewma.ts';
import { fpop } from '../../src/core/changepoint/fpop.ts';
import { Glr } from '../../src/core/changepoint/glr.ts';
import { optimal, optimalByCount } from '../../src/core/changepoint/optimal.ts';
import { pelt } from '../../src/core/changepoint/pelt.ts';
import { elbow, mbic, penaltyPath } from '../../src/core/changepoint/penalty.ts';
import { segment } from '../../src/core/changepoint/segment.ts';
import { noiseSdByDifferences } from '../../src/core/quantity/robust.ts';
import { seeded } from '../src/core/changepoint/gaussian.ts';
import { nile } from './nile.ts';

/** Printed to two places; exact ties exist (14.445, 19.035, 0.255). */
const printed = 0.005 + 1e-9;
const off = (a: number, b: number): number => Math.abs(a - b);

describe('NIST/SEMATECH e-Handbook 6.3.2.3, tabular CUSUM: target 325, k 0.3175, h 4.1959', () => {
  const means = [
    324.925, 324.675, 324.725, 324.35, 325.35, 325.225, 324.125, 324.525, 325.225, 324.6, 324.625, 325.15, 328.325,
    327.25, 327.825, 328.5, 326.675, 327.775, 326.875, 328.35,
  ];
  const reference = { mean: 325, sd: 1 };

  it('both sums agree with the printed table', () => {
    const upper = [0, 0, 0, 0, 0.03, 0, 0, 0, 0, 0, 0, 0, 3.01, 4.94, 7.45, 10.63, 11.99, 14.44, 16.0, 19.04];
    const lower = [0, 0.01, 0, 0.33, 0, 0, 0.56, 0.72, 0.17, 0.25, 0.31, 0, 0, 0, 0, 0, 0, 0, 0, 0];
    // The table lets the sums run on after the signal; a threshold out of reach does the same.
    const d = new Cusum({ reference, k: 0.3175, h: 1e9 });
    means.forEach((x, i) => {
      d.step(x, i);
      expect(off(d.upper, upper[i] ?? Number.NaN)).toBeLessThanOrEqual(printed);
      expect(off(d.lower, lower[i] ?? Number.NaN)).toBeLessThanOrEqual(printed);
    });
  });

  it('the first signal is at group 14, upward, its onset at group 13', () => {
    const d = new Cusum({ reference, k: 0.3175, h: 4.1959 });
    const said = means.map((x, i) => d.step(x, i)).find((c) => c !== null);
    expect(said).toMatchObject({ direction: 'up', saidIndex: 13, onsetIndex: 12 });
  });
});

describe('NIST/SEMATECH e-Handbook 6.3.2.4, EWMA: lambda 0.3, s 2.0539, L 3', () => {
  it('averages and limits agree with the printed table, and none lies outside', () => {
    const data = [
      52, 47, 53, 49.3, 50.1, 47, 51, 50.1, 51.2, 50.5, 49.6, 47.6, 49.9, 51.3, 47.8, 51.2, 52.6, 52.4, 53.6, 52.1,
    ];
    const averages = [
      50.6, 49.52, 50.56, 50.18, 50.16, 49.21, 49.75, 49.85, 50.26, 50.33, 50.11, 49.36, 49.52, 50.05, 49.38, 49.92,
      50.73, 51.23, 51.94, 51.99,
    ];
    const d = new Ewma({ reference: { mean: 50, sd: 2.0539 }, lambda: 0.3, width: 3 });
    expect(off(d.limits.upper, 52.5884)).toBeLessThanOrEqual(5e-5);
    expect(off(d.limits.lower, 47.4115)).toBeLessThanOrEqual(1e-4);
    data.forEach((x, i) => {
      expect(d.step(x, i)).toBeNull();
      expect(off(d.average, averages[i] ?? Number.NaN)).toBeLessThanOrEqual(printed);
    });
  });
});

describe('CUSUM average run lengths, k = 0.5', () => {
  it('by the integral equation, within 2 % of Lucas and Crosier 1982 table 1 (two-sided h 4: 168; shifts) and of the e-Handbook (336, 930)', () => {
    expect(off(cusumArlTwoSided(0.5, 4) / 168, 1)).toBeLessThanOrEqual(0.02);
    expect(off(cusumArlTwoSided(0.5, 5) / 465, 1)).toBeLessThanOrEqual(0.02);
    expect(off(cusumArl(0.5, 4) / 336, 1)).toBeLessThanOrEqual(0.02);
    expect(off(cusumArl(0.5, 5) / 930, 1)).toBeLessThanOrEqual(0.02);
    expect(off(cusumArl(0.5, 4, 1) / 8.38, 1)).toBeLessThanOrEqual(0.02);
    expect(off(cusumArl(0.5, 5, 1) / 10.4, 1)).toBeLessThanOrEqual(0.02);
    for (const [shift, arl] of [
      [0.25, 74.2],
      [0.5, 26.6],
      [0.75, 13.3],
      [1.5, 4.75],
      [2, 3.34],
      [2.5, 2.62],
      [3, 2.19],
    ] as const)
      expect(off(cusumArlTwoSided(0.5, 4, shift) / arl, 1)).toBeLessThanOrEqual(0.02);
  });

  it('Brook and Evans 1972: one-sided h 3 gives 117.59, and 3.75 at 1.5 sigma', () => {
    expect(off(cusumArl(0.5, 3), 117.59)).toBeLessThanOrEqual(0.02);
    expect(off(cusumArl(0.5, 3, 1.5), 3.75)).toBeLessThanOrEqual(0.005);
  });

  it.each([
    [4, 168],
    [5, 465],
  ])('by simulation, too: the detector itself with two-sided h %d runs %d samples on the mean', (h, arl) => {
    const { normal } = seeded(11);
    const detector = new Cusum({ reference: { mean: 0, sd: 1 }, k: 0.5, h });
    let alarms = 0;
    let samples = 0;
    // A run length scatters as much as it is long: 20,000 of them are known to 0.7 %.
    for (; alarms < 20_000; samples++) if (detector.step(normal(), samples)) alarms++;
    expect(off(samples / alarms / arl, 1)).toBeLessThanOrEqual(0.02);
  });

  it('a budget and its threshold are inverse, and a textbook h of 5 alarms in 88 % of 1,000 quiet samples', () => {
    for (const arl of [168, 1000, 3600])
      expect(off(cusumArlTwoSided(0.5, cusumThreshold(arl, 0.5, 'two')) / arl, 1)).toBeLessThanOrEqual(1e-4);
    expect(off(falseAlarmChance(465, 1000), 0.88)).toBeLessThanOrEqual(0.005);
    expect(off(falseAlarmChance(arlForBudget(0.05, 1000), 1000), 0.05)).toBeLessThanOrEqual(1e-12);
  });
});

describe('least mean delay of any detector (Lorden 1971, Moustakides 1986)', () => {
  it('agrees with values computed independently for the optimal CUSUM, to their printed digits', () => {
    const table: readonly (readonly number[])[] = [
      [1000, 31.1, 10.5, 3.41, 1.79],
      [3600, 41.0, 13.1, 4.05, 2.09],
      [36000, 59.3, 17.7, 5.2, 2.61],
      [360000, 77.8, 22.3, 6.35, 3.12],
    ];
    for (const [arl = 0, ...delays] of table)
      [0.5, 1, 2, 3].forEach((shift, i) =>
        expect(off(leastDelay(arl, shift), delays[i] ?? Number.NaN)).toBeLessThanOrEqual(
          (delays[i] ?? 0) < 10 ? 0.0051 : 0.056,
        ),
      );
  });
});

describe('the Nile at Aswan: the fall after 1898, row 28 counted from 0', () => {
  const n = nile.length;
  const variance = noiseSdByDifferences(nile) ** 2;
  const sd = Math.sqrt(variance);

  it('is the one change of every off-line method at the modified BIC', () => {
    const penalty = mbic(n, 1);
    expect(pelt(new MeanCost(nile, variance), penalty).changepoints).toEqual([28]);
    expect(optimal(new MeanCost(nile, variance), penalty).changepoints).toEqual([28]);
    expect(fpop(nile, { penalty, variance }).changepoints).toEqual([28]);
    expect(fpop(nile, { penalty, variance, cap: 3 * sd }).changepoints).toEqual([28]);
    expect(pelt(new RobustCost(nile, 3 * sd, variance), penalty).changepoints).toEqual([28]);
    expect(pelt(new MeanVarCost(nile), mbic(n, 2), 5).changepoints).toEqual([28]);
  });

  it('is the elbow of the penalty path', () => {
    const cost = new MeanCost(nile, variance);
    const path = penaltyPath((p) => pelt(cost, p), 1, 200);
    expect(elbow(path, Math.log(n))?.partition.changepoints).toEqual([28]);
  });

  it('is what a table gets with defaults, off-line and on-line, with the means 1097.75 and 849.97', () => {
    const columns = [{ name: 'flow', values: nile }];
    const table = segment({ columns });
    expect(table).toMatchObject({ changepoints: [28] });
    const means = 'segments' in table ? table.segments.map((s) => Number(s.mean)) : [];
    expect(off(means[0] ?? 0, 1097.75)).toBeLessThanOrEqual(0.005);
    expect(off(means[1] ?? 0, 849.97)).toBeLessThanOrEqual(0.005);
    for (const told of [{}, { reference: 20 }, { reference: 24 }]) {
      const on = segment({ columns, method: 'online', ...told });
      expect(on).toMatchObject({ changepoints: [28] });
    }
  });

  it('is the first thing every on-line detector says, downward, dated back to the row, with 20 years as reference', () => {
    const reference = { samples: 20 };
    const detectors: Detector[] = [
      new Cusum({ reference, h: cusumThreshold(1000, 0.5, 'two') }),
      new Ewma({ reference }),
      new Glr({ reference, threshold: glrThreshold(1000, 100, 1, 'two'), window: 100 }),
      new Bocpd({ reference, meanRun: 100, priorSamples: 0.05 }),
    ];
    for (const d of detectors) {
      const first = nile.map((x, i) => d.step(x, 1871 + i)).find((c) => c !== null);
      expect(first).toMatchObject({ direction: 'down', onsetIndex: 28, onsetT: 1899 });
      expect(first?.saidIndex).toBeLessThanOrEqual(36);
    }
  });

  it('sums of squares for 0 to 5 breaks, 15 rows at least, agree with strucchange 1.5-3', () => {
    const rss = [2835157, 1597457, 1552924, 1538097, 1507888, 1659994];
    optimalByCount(new MeanCost(nile), 5, 15).forEach((p, k) =>
      expect(off(p?.cost ?? Number.NaN, rss[k] ?? Number.NaN)).toBeLessThanOrEqual(0.51),
    );
  });
});
