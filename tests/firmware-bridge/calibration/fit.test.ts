import fc from 'fast-check';
import { describe, expect, it } from 'vitest';
import { applyCurve, invertCurve } from '../../../firmware-bridge/calibration/curve.ts';
import { fitLine, fitSteps, FitError, type Standard } from '../../../firmware-bridge/calibration/fit.ts';

const standard = (value: number, raw: number, u = 0.5, uRaw = 0.001): Standard => ({ value, raw, u, uRaw });

describe('fit of standards', () => {
  it('finds the line that made the points, for any line', () => {
    fc.assert(
      fc.property(
        fc.double({ min: -500, max: 500, noNaN: true }),
        fc.double({ min: 1, max: 2000, noNaN: true }),
        fc.uniqueArray(fc.integer({ min: 0, max: 4500 }), { minLength: 2, maxLength: 8 }),
        (a, b, millivolts) => {
          const fit = fitLine(millivolts.map((mv) => standard(a + (b * mv) / 1000, mv / 1000)));
          const curve = fit.curve;
          if (curve.kind !== 'line') throw new Error('not a line');
          expect(Math.abs(curve.b - b)).toBeLessThan(1e-6 * Math.max(1, b));
          for (const r of fit.residuals) expect(Math.abs(r)).toBeLessThan(1e-6);
        },
      ),
    );
  });

  it('states an uncertainty that covers the truth: pulls of a repeated calibration have unit spread', () => {
    let seed = 7;
    const normal = (): number => {
      let sum = 0;
      for (let i = 0; i < 12; i++) {
        seed = (seed * 1103515245 + 12345) % 2147483648;
        sum += seed / 2147483648;
      }
      return sum - 6;
    };
    const pulls: number[] = [];
    for (let trial = 0; trial < 400; trial++) {
      const points = [0, 20, 100, 400].map((v) => standard(v + 2 * normal(), 0.5 + v / 1000, 2, 1e-6));
      const at = applyCurve(fitLine(points).curve, 0.7);
      pulls.push((at.value - 200) / at.u);
    }
    const sd = Math.sqrt(pulls.reduce((s, p) => s + p * p, 0) / pulls.length);
    expect(sd).toBeGreaterThan(0.7);
    expect(sd).toBeLessThan(1.1);
  });

  it('keeps a curve in steps monotone whatever the scatter, and inverts it', () => {
    fc.assert(
      fc.property(fc.array(fc.double({ min: -3, max: 3, noNaN: true }), { minLength: 4, maxLength: 8 }), (scatter) => {
        const fit = fitSteps(scatter.map((e, i) => standard(i * 4 + e, i + 1)));
        const curve = fit.curve;
        if (curve.kind !== 'steps') throw new Error('not steps');
        for (let i = 1; i < curve.knots.length; i++) {
          expect(curve.knots[i]?.value ?? 0).toBeGreaterThan(curve.knots[i - 1]?.value ?? 0);
        }
        const middle = ((curve.knots[0]?.value ?? 0) + (curve.knots.at(-1)?.value ?? 0)) / 2;
        const raw = invertCurve(curve, middle);
        expect(raw).not.toBeNull();
        expect(applyCurve(curve, raw ?? 0).value).toBeCloseTo(middle, 6);
      }),
    );
  });

  it('says when a reading lies outside the standards', () => {
    const { curve } = fitLine([standard(0, 0.5), standard(100, 1)]);
    expect(applyCurve(curve, 0.75).outside).toBe(false);
    expect(applyCurve(curve, 1.2).outside).toBe(true);
  });

  it.each([
    [[standard(0, 1)], 'needs two standards or more; 1 given'],
    [[standard(0, 1), standard(100, 1)], 'the sensor does not answer'],
    [[standard(0, 1), standard(Number.NaN, 2)], 'not a number'],
  ])('refuses standards that make no curve', (standards, words) => {
    expect(() => fitLine(standards)).toThrow(FitError);
    expect(() => fitLine(standards)).toThrow(words);
  });
});
