import fc from 'fast-check';
import { describe, expect, it } from 'vitest';
import { Parts } from '../../../../src/core/line/parts.ts';

const number = fc.double({ min: -3, max: 3, noNaN: true });
/** A matrix M M' + I: symmetric, and all its eigenvalues one or more. */
const equations = fc.tuple(
  fc.array(number, { minLength: 16, maxLength: 16 }),
  fc.array(fc.double({ min: -50, max: 50, noNaN: true }), { minLength: 4, maxLength: 4 }),
);

function partsOf(m: readonly number[], right: readonly number[]): { parts: Parts; matrix: number[][] } {
  const parts = new Parts();
  const matrix = [0, 1, 2, 3].map((i) =>
    [0, 1, 2, 3].map((j) => {
      let sum = i === j ? 1 : 0;
      for (let k = 0; k < 4; k += 1) sum += (m[i * 4 + k] ?? 0) * (m[j * 4 + k] ?? 0);
      return sum;
    }),
  );
  parts.matrix.set(matrix.flat());
  parts.right.set(right);
  return { parts, matrix };
}

const dot = (a: readonly number[], b: ArrayLike<number>) => a.reduce((sum, x, i) => sum + x * (b[i] ?? 0), 0);

describe('four parts by least squares', () => {
  it('solves its equations, and inverts their matrix', () => {
    fc.assert(
      fc.property(equations, ([m, right]) => {
        const { parts, matrix } = partsOf(m, right);
        parts.solve();
        for (const [i, row] of matrix.entries()) {
          expect(dot(row, parts.value)).toBeCloseTo(right[i] ?? 0, 6);
          for (let j = 0; j < 4; j += 1)
            expect(dot(row, parts.covariance.subarray(j * 4, j * 4 + 4))).toBeCloseTo(i === j ? 1 : 0, 6);
        }
      }),
    );
  });

  it('gives the determinant of a diagonal matrix (by hand: 2 x 3 x 4 x 5 = 120)', () => {
    const parts = new Parts();
    parts.matrix.set([2, 0, 0, 0, 0, 3, 0, 0, 0, 0, 4, 0, 0, 0, 0, 5]);
    expect(Math.exp(parts.solve())).toBeCloseTo(120, 9);
  });

  it('leaves no part negative that cannot be, and fits no better than without that bound', () => {
    fc.assert(
      fc.property(equations, ([m, right]) => {
        const { parts } = partsOf(m, right);
        parts.solve();
        const free = dot([...parts.value], right);
        parts.holdNegative(1);
        for (let i = 1; i < 4; i += 1) expect(parts.value[i]).toBeGreaterThan(-1e-9);
        expect(dot([...parts.value], right)).toBeLessThan(free + 1e-6 * Math.abs(free) + 1e-6);
      }),
    );
  });

  it('gives a sum the variance of its weights', () => {
    const { parts } = partsOf([1, 2, 0, 1, 0, 1, 1, 0, 2, 0, 1, 1, 0, 1, 0, 2], [1, 2, 3, 4]);
    parts.solve();
    const w = [1, -2, 0.5, 3];
    const sum = dot(
      w,
      w.map((_, i) => dot(w, parts.covariance.subarray(i * 4, i * 4 + 4))),
    );
    expect(parts.variance(1, -2, 0.5, 3)).toBeCloseTo(sum, 9);
  });
});
