import fc from 'fast-check';
import { describe, expect, it } from 'vitest';
import { individualsChart, meanRangeChart, meanSdChart } from '../../../../src/core/audit/control-chart.ts';
import { c4, mostInRange, rangeFactors, sdFactors } from '../../../../src/core/audit/control-constants.ts';

const one = (values: readonly number[]) => values.map((value, i) => ({ key: `run ${i + 1}`, values: [value] }));

describe('factors of control charts', () => {
  // c4, B3, B4 and A3 as printed in the appendix tables of the statistics textbooks and of ASTM, n = 2 to 10.
  it.each([
    [2, 0.7979, 0, 3.267, 2.659],
    [3, 0.8862, 0, 2.568, 1.954],
    [4, 0.9213, 0, 2.266, 1.628],
    [5, 0.94, 0, 2.089, 1.427],
    [6, 0.9515, 0.03, 1.97, 1.287],
    [7, 0.9594, 0.118, 1.882, 1.182],
    [8, 0.965, 0.185, 1.815, 1.099],
    [9, 0.9693, 0.239, 1.761, 1.032],
    [10, 0.9727, 0.284, 1.716, 0.975],
    [25, 0.9896, 0.565, 1.435, 0.606],
  ])('of standard deviations of %i values are those of the tables', (n, c, b3, b4, a3) => {
    expect(c4(n)).toBeCloseTo(c, 4);
    const { lower, upper, a3: found } = sdFactors(n);
    expect(lower).toBeCloseTo(b3, 3);
    expect(Math.abs(upper - b4)).toBeLessThan(0.00051);
    expect(found).toBeCloseTo(a3, 3);
  });

  it('of ranges hang together: A2 = 3 / (d2 sqrt n), D3 and D4 = 1 -+ 3 d3 / d2, to the last printed place', () => {
    for (let n = 2; n <= mostInRange; n += 1) {
      const { d2, d3, a2, lower, upper } = rangeFactors(n);
      expect(Math.abs(a2 - 3 / (d2 * Math.sqrt(n)))).toBeLessThan(0.0015);
      expect(Math.abs(lower - Math.max(0, 1 - (3 * d3) / d2))).toBeLessThan(0.0025);
      expect(Math.abs(upper - (1 + (3 * d3) / d2))).toBeLessThan(0.0025);
    }
  });

  it('are refused where there are none', () => {
    expect(() => rangeFactors(1)).toThrow(RangeError);
    expect(() => rangeFactors(11)).toThrow('2 to 10');
    expect(() => c4(1)).toThrow(RangeError);
  });
});

describe('individuals and moving ranges', () => {
  // NIST/SEMATECH e-Handbook 6.3.2.2: ten flow rates; mean 50.81, mean range 1.8778, limits 55.8041 and 45.8159.
  it('give the worked example of the handbook', () => {
    const chart = individualsChart(one([49.6, 47.6, 49.9, 51.3, 47.8, 51.2, 52.6, 52.4, 53.6, 52.1]));
    expect(chart?.individuals.centre).toBeCloseTo(50.81, 10);
    expect(chart?.ranges.centre).toBeCloseTo(1.8778, 4);
    expect(chart?.individuals.points[0]?.upper).toBeCloseTo(55.8041, 3);
    expect(chart?.individuals.points[0]?.lower).toBeCloseTo(45.8159, 3);
    expect(chart?.individuals.points.some((p) => p.out)).toBe(false);
  });

  it('show the one that stands out', () => {
    const chart = individualsChart(one([10, 11, 10, 9, 10, 11, 10, 30, 10, 11, 10, 9, 11, 10, 9, 10]));
    expect(chart?.individuals.points.flatMap((p) => (p.out ? [p.key] : []))).toEqual(['run 8']);
    expect(chart?.ranges.points.flatMap((p) => (p.out ? [p.key] : []))).toEqual(['run 8', 'run 9']);
  });

  it('say nothing of fewer than two values, and never call a flat series out', () => {
    expect(individualsChart(one([3]))).toBeNull();
    fc.assert(
      fc.property(fc.double({ noNaN: true, min: -1e6, max: 1e6 }), fc.integer({ min: 2, max: 40 }), (v, n) => {
        const chart = individualsChart(one(Array.from({ length: n }, () => v)));
        expect(chart?.individuals.points.some((p) => p.out)).toBe(false);
      }),
    );
  });
});

// Montgomery, Introduction to Statistical Quality Control: the first five samples of the piston rings, mm.
const rings = [
  [74.03, 74.002, 74.019, 73.992, 74.008],
  [73.995, 73.992, 74.001, 74.011, 74.004],
  [73.988, 74.024, 74.021, 74.005, 74.002],
  [74.002, 73.996, 73.993, 74.015, 74.009],
  [73.992, 74.007, 74.015, 73.989, 74.014],
].map((values, i) => ({ key: `${i + 1}`, values }));

describe('means with ranges or standard deviations', () => {
  it('stand at mean +- A2 R and between D3 R and D4 R', () => {
    const chart = meanRangeChart(rings);
    // Ranges 0.038, 0.019, 0.036, 0.022, 0.026: mean 0.0282; mean of means by hand 74.00504.
    expect(chart?.spreads.centre).toBeCloseTo(0.0282, 10);
    expect(chart?.means.centre).toBeCloseTo(74.00504, 5);
    expect(chart?.means.points[0]?.upper).toBeCloseTo(74.00504 + 0.577 * 0.0282, 5);
    expect(chart?.spreads.points[0]?.upper).toBeCloseTo(2.115 * 0.0282, 6);
    expect(chart?.spreads.points[0]?.lower).toBe(0);
  });

  it('agree with each other on the spread of Gaussian-like samples', () => {
    const byRange = meanRangeChart(rings);
    const bySd = meanSdChart(rings);
    expect(bySd?.means.centre).toBeCloseTo(byRange?.means.centre ?? 0, 10);
    const sigma = (byRange?.spreads.centre ?? 0) / rangeFactors(5).d2;
    expect((bySd?.spreads.centre ?? 0) / sigma).toBeGreaterThan(0.9);
    expect((bySd?.spreads.centre ?? 0) / sigma).toBeLessThan(1.1);
  });

  it('are wider for smaller samples, leave out single values, and refuse ranges of mixed sizes', () => {
    const mixed = [
      { key: 'a', values: [1, 2, 3, 2, 1, 3, 2, 2] },
      { key: 'b', values: [2, 3] },
      { key: 'c', values: [9] },
    ];
    const chart = meanSdChart(mixed);
    const [a, b, none] = chart?.means.points ?? [];
    expect((b?.upper ?? 0) - (b?.lower ?? 0)).toBeGreaterThan((a?.upper ?? 0) - (a?.lower ?? 0));
    expect(none).toBeUndefined();
    expect(() => meanRangeChart(mixed)).toThrow('one size');
  });

  it('call out about three in a thousand of samples from one law, and most of a far one', () => {
    const gauss = gaussian(7);
    const same = Array.from({ length: 4000 }, (_, i) => ({ key: `${i}`, values: Array.from({ length: 5 }, gauss) }));
    const out = meanSdChart(same)?.means.points.filter((p) => p.out).length ?? 0;
    // 0.27 % of 4,000 is 10.8; a Poisson count of that mean lies within 2 and 25 but once in a few hundred thousand.
    expect(out).toBeGreaterThan(1);
    expect(out).toBeLessThan(26);
    const far = { key: 'far', values: Array.from({ length: 5 }, () => gauss() + 4) };
    expect(meanSdChart([...same, far])?.means.points.at(-1)?.out).toBe(true);
  });
});

/** Gaussian values by Box and Muller from a small linear congruential generator, so that the test is the same each time. */
function gaussian(seed: number): () => number {
  let state = seed >>> 0;
  const uniform = (): number => {
    state = (Math.imul(state, 1664525) + 1013904223) >>> 0;
    return (state + 1) / 4294967297;
  };
  return () => Math.sqrt(-2 * Math.log(uniform())) * Math.cos(2 * Math.PI * uniform());
}
