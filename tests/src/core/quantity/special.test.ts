import { describe, expect, it } from 'vitest';
import { decay } from '../../../../src/core/quantity/decay.ts';
import { madSd, median, noiseSdByDifferences, quantile } from '../../../../src/core/quantity/robust.ts';
import * as special from '../../../../src/core/quantity/special.ts';

const off = (a: number, b: number): number => Math.abs(a / b - 1);

// Values from R 4.2.2 (pnorm, qnorm, pt, qt, pchisq, qchisq, lgamma), printed to 15 digits.
describe('special functions against R', () => {
  it('normal distribution, far tails included', () => {
    expect(off(special.normalCdf(-8), 6.22096057427178e-16)).toBeLessThan(1e-11);
    expect(off(special.normalCdf(1.96), 0.97500210485178)).toBeLessThan(1e-11);
    expect(off(special.normalQuantile(0.975), 1.95996398454005)).toBeLessThan(1e-11);
    expect(off(special.normalQuantile(1e-10), -6.36134090240406)).toBeLessThan(1e-11);
    expect(special.normalQuantile(0)).toBe(-Infinity);
    expect(special.normalQuantile(2)).toBeNaN();
  });

  it('Student and chi-squared', () => {
    expect(off(special.studentTail(2.228, 10), 0.0250058859085557)).toBeLessThan(1e-11);
    expect(off(special.studentUpper(0.025, 5), 2.57058183563631)).toBeLessThan(1e-11);
    expect(off(special.studentUpper(0.9, 5), -1.47588404882448)).toBeLessThan(1e-11);
    expect(off(special.chiSquaredTail(3.841, 1), 0.0500136837639569)).toBeLessThan(1e-11);
    expect(off(special.chiSquaredUpper(0.05, 3), 7.81472790325118)).toBeLessThan(1e-11);
  });

  it('gamma: whole numbers, and the half step on both sides of its switch', () => {
    expect(off(special.logGamma(11), Math.log(3628800))).toBeLessThan(1e-11);
    expect(off(special.logGamma(0.5), Math.log(Math.sqrt(Math.PI)))).toBeLessThan(1e-11);
    for (const a of [0.5, 3, 11.999, 12, 40, 1e3])
      expect(special.logGammaHalfStep(a)).toBeCloseTo(special.logGamma(a + 0.5) - special.logGamma(a), 10);
  });
});

it('decay is exp(-x) to 1e-12, and nothing beyond 40', () => {
  for (let x = 0; x < 40; x += 0.0137) expect(off(decay(x), Math.exp(-x))).toBeLessThan(1e-12);
  expect(decay(0)).toBe(1);
  expect([decay(40), decay(1e9), decay(Number.POSITIVE_INFINITY)]).toEqual([0, 0, 0]);
  expect(decay(Number.NaN)).toBeNaN();
});

describe('robust location and scale', () => {
  it('median and quantiles of type 7', () => {
    expect(median([3, 1, 2])).toBe(2);
    expect(median([4, 1, 2, 3])).toBe(2.5);
    expect(quantile([1, 2, 3, 4, 5], 0.1)).toBeCloseTo(1.4, 12);
    expect(median([])).toBeNaN();
  });

  it('one wild value in five moves neither', () => {
    expect(madSd([1, 2, 3, 4, 1e9])).toBeCloseTo(1.4826, 3);
  });

  it('noise by differences is blind to steps and not deceived by a coarse converter', () => {
    const wiggle = Array.from(
      { length: 400 },
      (_, i) => Math.sin(i * 12.9898) * 43758.5453 - Math.floor(Math.sin(i * 12.9898) * 43758.5453),
    );
    const plain = noiseSdByDifferences(wiggle);
    expect(noiseSdByDifferences(wiggle.map((v, i) => v + (i > 200 ? 50 : 0)))).toBeCloseTo(plain, 1);
    const coarse = Array.from({ length: 100 }, (_, i) => (i % 10 === 0 ? 1 : 0));
    expect(noiseSdByDifferences(coarse)).toBeGreaterThan(0);
    expect(noiseSdByDifferences([5, 5, 5])).toBe(0);
  });
});
