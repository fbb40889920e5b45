import fc from 'fast-check';
import { describe, expect, it } from 'vitest';
import {
  againstLimit,
  areApart,
  between,
  exact,
  minus,
  over,
  sum,
  times,
  withShare,
} from '../../../../src/core/quantity/interval.ts';

const uncertain = fc.record({
  value: fc.double({ min: 0.1, max: 1e4, noNaN: true }),
  u: fc.double({ min: 0, max: 100, noNaN: true }),
});

describe('values with uncertainty', () => {
  it('adds independent parts in quadrature: 3 and 4 give 5', () => {
    expect(sum({ value: 1, u: 3 }, { value: 2, u: 4 })).toEqual({ value: 3, u: 5 });
    expect(minus({ value: 1, u: 3 }, { value: 2, u: 4 })).toEqual({ value: -1, u: 5 });
  });

  it('takes bare bounds as rectangular: half width over sqrt 3 (JCGM 100:2008, 4.3.7)', () => {
    expect(between(2, 4)).toEqual({ value: 3, u: 1 / Math.sqrt(3) });
  });

  it('a quotient undoes a product, and relative uncertainties add in quadrature', () => {
    fc.assert(
      fc.property(uncertain, uncertain, (a, b) => {
        const product = times(a, b);
        expect(over(product, exact(b.value)).value).toBeCloseTo(a.value, 6);
        const share = Math.hypot(a.u / a.value, b.u / b.value);
        expect(product.u / product.value).toBeCloseTo(share, 9);
        expect(over(a, b).u / over(a, b).value).toBeCloseTo(share, 9);
      }),
    );
    expect(over(exact(1), exact(0)).value).toBeNaN();
  });

  it('a limit inside two standard uncertainties is undecided, and only there', () => {
    expect(againstLimit(withShare(100, 0.05), 111)).toBe('under');
    expect(againstLimit(withShare(100, 0.05), 105)).toBe('undecided');
    expect(againstLimit(withShare(100, 0.05), 95)).toBe('undecided');
    expect(againstLimit(withShare(100, 0.05), 89)).toBe('over');
    expect(areApart({ value: 100, u: 3 }, { value: 109, u: 3 })).toBe(true);
    expect(areApart({ value: 100, u: 3 }, { value: 108, u: 3 })).toBe(false);
  });
});
