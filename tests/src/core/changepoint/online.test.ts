import fc from 'fast-check';
import { describe, expect, it } from 'vitest';
import { glrThresholdLearned } from '../../../../src/core/changepoint/arl.ts';
import { Bocpd } from '../../../../src/core/changepoint/bocpd.ts';
import { leastDelay } from '../../../../src/core/changepoint/bound.ts';
import { Cusum } from '../../../../src/core/changepoint/cusum.ts';
import type { Change, Detector } from '../../../../src/core/changepoint/detector.ts';
import { Ewma } from '../../../../src/core/changepoint/ewma.ts';
import { Glr } from '../../../../src/core/changepoint/glr.ts';
import { seeded } from './gaussian.ts';

const make: Record<string, () => Detector> = {
  cusum: () => new Cusum({ reference: { samples: 20 }, h: 6 }),
  ewma: () => new Ewma({ reference: { samples: 20 }, width: 3.5 }),
  glr: () => new Glr({ reference: { samples: 20 }, threshold: 4.5, window: 64 }),
  'glr, growing and relearning': () =>
    new Glr({ reference: { samples: 20 }, threshold: 4.5, window: 64, grow: true, after: 'relearn' }),
  bocpd: () => new Bocpd({ reference: { samples: 20 }, meanRun: 200 }),
};

function stepAt(at: number, by: number, rows: number, seed: number): number[] {
  const g = seeded(seed).normal;
  return Array.from({ length: rows }, (_, i) => g() + (i >= at ? by : 0));
}

function run(d: Detector, x: readonly number[]): (Change | null)[] {
  return x.map((v, i) => d.step(v, i * 0.1));
}

describe('every on-line detector', () => {
  for (const [name, create] of Object.entries(make)) {
    it(`${name}: finds a step up and a step down of 3 sd, dated to within 2 rows, and says the direction`, () => {
      for (const [by, direction] of [
        [3, 'up'],
        [-3, 'down'],
      ] as const) {
        const first = run(create(), stepAt(120, by, 160, 3)).find((c) => c !== null);
        expect(first?.direction).toBe(direction);
        expect(Math.abs((first?.onsetIndex ?? 0) - 120)).toBeLessThanOrEqual(2);
        expect(first?.onsetT).toBeCloseTo((first?.onsetIndex ?? 0) * 0.1, 9);
        expect(first?.saidIndex).toBeLessThanOrEqual(130);
      }
    });

    it(`${name}: is silent in its reference and causal: what comes later changes nothing said before`, () => {
      fc.assert(
        fc.property(fc.integer({ min: 1, max: 1e6 }), fc.integer({ min: 1, max: 199 }), (seed, cut) => {
          const x = stepAt(100, 3, 200, seed);
          const whole = run(create(), x);
          expect(run(create(), x.slice(0, cut))).toEqual(whole.slice(0, cut));
          expect(whole.slice(0, 20).every((c) => c === null)).toBe(true);
          expect(whole.filter((c) => c !== null && c.onsetIndex > c.saidIndex)).toEqual([]);
        }),
        { numRuns: 25 },
      );
      expect(create().ready).toBe(false);
    });

    it(`${name}: passes over values that are not finite, offset and scale do not matter, reset makes it new`, () => {
      const x = stepAt(120, 3, 160, 8);
      const said = run(create(), x).map((c) => c?.onsetIndex ?? null);
      const moved = run(
        create(),
        x.map((v) => 1e6 + 1000 * v),
      ).map((c) => c?.onsetIndex ?? null);
      expect(moved).toEqual(said);
      const holed = [...x.slice(0, 50), Number.NaN, Infinity, ...x.slice(50)];
      expect(run(create(), holed).filter((c) => c).length).toBe(said.filter((c) => c !== null).length);
      const used = create();
      run(used, x);
      used.reset();
      expect(run(used, x).map((c) => c?.onsetIndex ?? null)).toEqual(said);
    });
  }

  it('a flat reference does not divide by nought: the first move is a change', () => {
    for (const create of Object.values(make).slice(0, 4)) {
      const first = run(create(), [...Array.from({ length: 40 }, () => 7), 8, 8, 8, 8, 8, 8]).find((c) => c !== null);
      expect(first?.onsetIndex).toBe(40);
    }
  });

  it('bad settings are refused by name', () => {
    expect(() => new Cusum({ reference: { samples: 1 }, h: 4 })).toThrow(/2 samples/);
    expect(() => new Cusum({ reference: { mean: 0, sd: 0 }, h: 4 })).toThrow(/sd > 0/);
    expect(() => new Cusum({ reference: { samples: 20 }, h: 0 })).toThrow(/h > 0/);
    expect(() => new Ewma({ reference: { samples: 20 }, lambda: 2 })).toThrow(/lambda/);
    expect(() => new Glr({ reference: { samples: 20 }, threshold: 4, window: 3, least: 5 })).toThrow(/window/);
    expect(() => new Bocpd({ reference: { samples: 20 }, meanRun: 0 })).toThrow(/mean run/);
  });

  it('bocpd sees a change of spread alone, and holds no more run lengths than told', () => {
    const g = seeded(4).normal;
    const d = new Bocpd({ reference: { samples: 50 }, keep: 40 });
    const x = Array.from({ length: 400 }, (_, i) => g() * (i >= 250 ? 4 : 1));
    let most = 0;
    const said = x.map((v, i) => {
      const c = d.step(v, i);
      most = Math.max(most, d.held);
      return c;
    });
    const first = said.find((c) => c !== null);
    expect(Math.abs((first?.onsetIndex ?? 0) - 250)).toBeLessThanOrEqual(5);
    expect(most).toBeLessThanOrEqual(40);
  });
});

describe('delay against the least possible, one-sided, 500 reference samples', () => {
  // Least possible delays: Lorden 1971 and Moustakides 1986, computed by the integral equation (bound.ts).
  it.each([1000, 3600])('the likelihood ratio keeps a false alarm in %i samples, within 1.5 times', (arl) => {
    const g = seeded(2024).normal;
    const threshold = glrThresholdLearned(arl, 512, 1, 'one', 500);
    const until = (shift: number, most: number): number => {
      const d = new Glr({ reference: { samples: 500 }, threshold, side: 'up' });
      for (let i = 0; i < 500; i++) d.step(g(), i);
      for (let i = 1; i < most; i++) if (d.step(g() + shift, i)) return i;
      return most;
    };
    const mean = (shift: number, runs: number, most: number): number => {
      let sum = 0;
      for (let r = 0; r < runs; r++) sum += until(shift, most);
      return sum / runs;
    };
    // 300 runs: their mean is good to about 8 % (twice its standard error 12 %).
    expect(Math.abs(mean(0, 300, 200_000) / arl - 1)).toBeLessThan(0.15);
    for (const shift of [0.5, 1, 2, 3]) {
      const ratio = mean(shift, 300, 2000) / leastDelay(arl, shift);
      expect(ratio).toBeLessThan(1.5);
      // Under 1 the measurement would be broken.
      expect(ratio).toBeGreaterThan(0.97);
    }
  });
});
