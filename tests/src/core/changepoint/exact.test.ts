import fc from 'fast-check';
import { describe, expect, it } from 'vitest';
import { type Cost, costOf } from '../../../../src/core/changepoint/cost.ts';
import { MeanCost } from '../../../../src/core/changepoint/cost-mean.ts';
import { MeanCovCost } from '../../../../src/core/changepoint/cost-mean-cov.ts';
import { MeanVarCost } from '../../../../src/core/changepoint/cost-mean-var.ts';
import { RobustCost } from '../../../../src/core/changepoint/cost-robust.ts';
import { SlopeCost } from '../../../../src/core/changepoint/cost-slope.ts';
import { VarCost } from '../../../../src/core/changepoint/cost-var.ts';
import { fpop } from '../../../../src/core/changepoint/fpop.ts';
import { SumCost } from '../../../../src/core/changepoint/multivariate.ts';
import { optimal, optimalByCount } from '../../../../src/core/changepoint/optimal.ts';
import { pelt } from '../../../../src/core/changepoint/pelt.ts';
import { penaltyPath } from '../../../../src/core/changepoint/penalty.ts';

const costs: Record<string, (x: number[]) => Cost> = {
  mean: (x) => new MeanCost(x),
  var: (x) => new VarCost(x, 0),
  'mean and var': (x) => new MeanVarCost(x),
  slope: (x) => new SlopeCost(x),
  robust: (x) => new RobustCost(x, 2.5),
  'mean and covariance': (x) => new MeanCovCost([x, x.map((v, i) => (i % 5) - v * (i % 3))]),
  'two columns': (x) => new SumCost([new MeanCost(x), new MeanCost(x.map((v, i) => (i % 7) - v))]),
};

// Noise, levels, short bursts and ties: what pruning has been seen to get wrong.
const noisy = fc.array(fc.double({ min: -5, max: 5, noNaN: true }), { minLength: 1, maxLength: 45 });
const steps = fc
  .array(fc.tuple(fc.integer({ min: -4, max: 4 }), fc.integer({ min: 1, max: 6 })), { minLength: 1, maxLength: 10 })
  .map((runs) => runs.flatMap(([level, length]) => Array.from({ length }, (_, i) => level + 0.3 * (i % 2))));
const bursts = fc
  .tuple(fc.array(fc.integer({ min: 0, max: 59 }), { maxLength: 8 }), fc.integer({ min: 3, max: 9 }))
  .map(([at, size]) => Array.from({ length: 60 }, (_, i) => (at.includes(i) ? size : ((i * 7919) % 13) / 13)));
const series = fc.oneof(noisy, steps, bursts);

const off = (a: number, b: number): number => Math.abs(a - b) / (1 + Math.abs(b));
const tiny = 1e-7;

describe('pruning loses nothing', () => {
  for (const [name, make] of Object.entries(costs))
    it(`pelt reaches the optimum of exhaustive search, cost ${name}, minimum length 1 to 8`, () => {
      fc.assert(
        fc.property(
          series,
          fc.integer({ min: 1, max: 8 }),
          fc.double({ min: 0.01, max: 30, noNaN: true }),
          (x, least, penalty) => {
            const a = pelt(make(x), penalty, least);
            const b = optimal(make(x), penalty, least);
            expect(off(a.total, b.total)).toBeLessThan(tiny);
            const edges = [0, ...a.changepoints, x.length];
            const lengths = edges.slice(1).map((to, i) => to - (edges[i] ?? 0));
            expect(Math.min(...lengths)).toBeGreaterThanOrEqual(Math.min(least, x.length));
          },
        ),
        { numRuns: name === 'robust' ? 100 : 250 },
      );
    });

  it('functional pruning reaches the optimum of exhaustive search, squares and capped squares, minimum length 1 to 8', () => {
    fc.assert(
      fc.property(
        series,
        fc.integer({ min: 1, max: 8 }),
        fc.double({ min: 0.01, max: 30, noNaN: true }),
        fc.option(fc.double({ min: 0.2, max: 4, noNaN: true })),
        (x, least, penalty, cap) => {
          const cost = cap === null ? new MeanCost(x, 2) : new RobustCost(x, cap, 2);
          const a = fpop(x, { penalty, least, variance: 2, ...(cap === null ? {} : { cap }) });
          const b = optimal(cost, penalty, least);
          expect(off(a.total, b.total)).toBeLessThan(tiny);
          const told = penalty * a.changepoints.length + costOf(cost, a.changepoints);
          expect(off(a.total, told)).toBeLessThan(tiny);
        },
      ),
      { numRuns: 600 },
    );
  });

  it('the penalty path holds the best segmentation for each penalty tried', () => {
    fc.assert(
      fc.property(series, fc.double({ min: 0.5, max: 20, noNaN: true }), (x, penalty) => {
        const cost = new MeanCost(x);
        const path = penaltyPath((p) => pelt(cost, p), 0.1, 100);
        const step = path.find((s) => penalty >= s.from && penalty < s.to);
        const told = step ? step.partition.cost + penalty * step.partition.changepoints.length : Number.NaN;
        expect(off(told, optimal(cost, penalty).total)).toBeLessThan(tiny);
      }),
      { numRuns: 150 },
    );
  });

  it('by count: entry k has k changes and never costs more than entry k - 1', () => {
    fc.assert(
      fc.property(noisy, (x) => {
        const all = optimalByCount(new MeanCost(x), 5);
        all.forEach((p, k) => {
          expect(p?.changepoints.length ?? k).toBe(k);
          expect(p?.cost ?? 0).toBeLessThanOrEqual((all[k - 1]?.cost ?? Infinity) + 1e-9);
        });
      }),
      { numRuns: 100 },
    );
  });
});

describe('what must not matter does not', () => {
  const penalty = 6;
  it('an offset of a million million changes nothing', () => {
    const x = Array.from({ length: 200 }, (_, i) => Math.sin(i * 12.9898) + (i >= 77 ? 3 : 0));
    const y = x.map((v) => v + 1e12);
    // 1e12 leaves about 1e-4 of each value: the change must still be where it was.
    expect(pelt(new MeanCost(y), penalty).changepoints).toEqual([77]);
    expect(fpop(y, { penalty }).changepoints).toEqual([77]);
    expect(pelt(new MeanVarCost(y), 20, 5).changepoints).toEqual([77]);
  });

  it('scale goes with the square root of the variance, reversal mirrors, doubling doubles', () => {
    fc.assert(
      fc.property(noisy, fc.double({ min: 0.01, max: 1000, noNaN: true }), (x, scale) => {
        const total = pelt(new MeanCost(x), penalty).total;
        expect(
          off(
            pelt(
              new MeanCost(
                x.map((v) => v * scale),
                scale * scale,
              ),
              penalty,
            ).total,
            total,
          ),
        ).toBeLessThan(tiny);
        expect(off(pelt(new MeanCost([...x].reverse()), penalty).total, total)).toBeLessThan(tiny);
        expect(off(fpop([...x].reverse(), { penalty }).total, total)).toBeLessThan(tiny);
        expect(off(pelt(new MeanCost(x.flatMap((v) => [v, v])), 2 * penalty, 2).total, 2 * total)).toBeLessThan(tiny);
      }),
    );
  });

  it('refuses what is not a finite number, saying which', () => {
    for (const bad of [Number.NaN, Infinity, -Infinity]) {
      expect(() => new MeanCost([1, 2, bad])).toThrow(/values\[2\]/);
      expect(() => fpop([bad, 1], { penalty: 1 })).toThrow(/values\[0\]/);
      expect(() => new SlopeCost([1, bad])).toThrow(RangeError);
    }
    expect(() => pelt(new MeanCost([1, 2]), Number.NaN)).toThrow(/penalty/);
    expect(() => pelt(new MeanCost([1, 2]), 1, 0)).toThrow(/minimum length/);
  });

  it('an empty or single-row series has no change', () => {
    for (const x of [[], [3]]) {
      expect(pelt(new MeanCost(x), 1).changepoints).toEqual([]);
      expect(fpop(x, { penalty: 1 }).changepoints).toEqual([]);
      expect(optimal(new MeanCost(x), 1).changepoints).toEqual([]);
    }
  });
});
