import { expect, test } from 'vitest';
import { typedNumber } from '../../../../src/core/quantity/typed-number.ts';
import { usualU } from '../../../../src/core/quantity/usual-u.ts';

test('the usual uncertainty of a standard grows with its value where the trade states it in per cent', () => {
  expect([0, 0.5, 20, 100, 41].map((v) => usualU('turbidity', v))).toEqual([0.3, 0.3, 0.6, 3, 1.23]);
  expect(usualU('turbidity-out', 100)).toBe(3);
  expect([usualU('t-supply', 60), usualU('t-return', 0), usualU('pressure', 2)]).toEqual([0.2, 0.2, 0.02]);
  expect(usualU('conductivity', 1413)).toBe(28.3);
});

test('a typed figure has a comma or a point; anything else is none', () => {
  expect(['0,02', ' 10.5 ', '-1', '.5', '1e-3'].map(typedNumber)).toEqual([0.02, 10.5, -1, 0.5, 0.001]);
  for (const text of ['', ' ', 'ten', '1,000.5', '0x10', 'Infinity']) expect(typedNumber(text)).toBeNaN();
});
