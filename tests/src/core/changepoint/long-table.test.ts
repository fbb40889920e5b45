import fc from 'fast-check';
import { describe, expect, it } from 'vitest';
import { MeanCost } from '../../../../src/core/changepoint/cost-mean.ts';
import { fpop } from '../../../../src/core/changepoint/fpop.ts';
import { mbic } from '../../../../src/core/changepoint/penalty.ts';
import { pelt } from '../../../../src/core/changepoint/pelt.ts';
import { marginScore } from '../../../../src/core/changepoint/score.ts';
import { inWindows } from '../../../../src/core/changepoint/windows.ts';
import { noiseSdByDifferences } from '../../../../src/core/quantity/robust.ts';
import { seeded } from './gaussian.ts';
import { column, done } from './tables.ts';

describe('a long table', () => {
  it('shows changes that come every few blocks, and a few far apart, each to the row', () => {
    for (const every of [250, 6000]) {
      const g = seeded(31).normal;
      const x = Array.from({ length: 20000 }, (_, i) => 2.5 * (Math.floor(i / every) % 2) + g());
      const truth = Array.from({ length: Math.ceil(20000 / every) - 1 }, (_, i) => (i + 1) * every);
      expect(marginScore(truth, done({ columns: [column(x)] }).changepoints, 4).f1).toBeGreaterThan(0.98);
    }
  });

  it('is cut at a price as its values would be unrounded, but for a near tie of two neighbouring rows', () => {
    const g = seeded(61).normal;
    const x = Array.from(
      { length: 12000 },
      (_, i) => 3 * (Math.floor(i / 2400) % 2) + 0.7 * (Math.floor(i / 300) % 2) + g(),
    );
    const sd = noiseSdByDifferences(Float64Array.from(x));
    const inNoise = x.map((v) => v / sd);
    for (const penalty of [20, 40, 200, 5000]) {
      const { changepoints } = fpop(inNoise, { penalty, cap: 3 });
      const found = done({ columns: [column(x)], penalty }).changepoints;
      expect(found).toHaveLength(changepoints.length);
      expect(marginScore(changepoints, found, 1).f1).toBe(1);
    }
  });

  it('shows the same in several columns, of level and of spread, and nothing in noise', () => {
    const rows = 5000;
    const every = 100;
    const truth = Array.from({ length: rows / every - 1 }, (_, i) => (i + 1) * every);
    const table = (columns: number, value: (odd: number, normal: number) => number) => ({
      columns: Array.from({ length: columns }, (_, k) => {
        const g = seeded(41 + k).normal;
        return column(Array.from({ length: rows }, (_, i) => value(Math.floor(i / every) % 2, g())));
      }),
    });
    const level = done(table(2, (odd, normal) => 4 * odd + normal)).changepoints;
    expect(marginScore(truth, level, 2).f1).toBe(1);
    const spread = done(table(2, (odd, normal) => (odd ? 4 : 1) * normal)).changepoints;
    expect(marginScore(truth, spread, 5).f1).toBeGreaterThan(0.98);
    expect(done(table(2, (_, normal) => normal)).changepoints).toEqual([]);
  });

  it('shows the same beside a column that hardly ever moves', () => {
    const g = seeded(51).normal;
    const every = 250;
    const x = Array.from({ length: 20000 }, (_, i) => 5 * (Math.floor(i / every) % 2) + g());
    const truth = Array.from({ length: x.length / every - 1 }, (_, i) => (i + 1) * every);
    const still = column(
      x.map((_, i) => (i < 12500 ? 4 : 6)),
      'y',
    );
    const found = done({ columns: [column(x), still] }).changepoints;
    expect(marginScore(truth, found, 4).f1).toBeGreaterThan(0.95);
  });

  it('cut in windows is cut as at once, where changes stand out', () => {
    fc.assert(
      fc.property(fc.integer({ min: 1, max: 1e6 }), fc.integer({ min: 12, max: 60 }), (seed, every) => {
        const g = seeded(seed).normal;
        const x = Array.from({ length: 600 }, (_, i) => 8 * (Math.floor(i / every) % 2) + g());
        const cost = (from: number, to: number) => new MeanCost(x.slice(from, to));
        const penalty = mbic(x.length, 1);
        expect(inWindows(cost, x.length, 160, penalty, 3)).toEqual(pelt(cost(0, x.length), penalty, 3).changepoints);
      }),
      { numRuns: 50 },
    );
  });
});
