import fc from 'fast-check';
import { describe, expect, test } from 'vitest';
import { readPlainNumbers } from '../../../src/recording/number-row.ts';

const comma = ','.charCodeAt(0);

/** A line as it lies in a file, with other lines about it. */
function lineOf(text: string) {
  const bytes = new TextEncoder().encode(`7,8\n${text}\n9`);
  return { bytes, from: 4, to: bytes.length - 2 };
}

describe('the fast way through a row of numbers', () => {
  test('reads what it reads as Number() does, bit for bit', () => {
    const decimal = fc
      .tuple(fc.constantFrom('', '-'), fc.nat(1e9), fc.option(fc.nat(99999)))
      .map(([sign, whole, part]) =>
        part === null ? `${sign}${whole}` : `${sign}${whole}.${String(part).padStart(5, '0')}`,
      );
    fc.assert(
      fc.property(fc.array(fc.oneof(decimal, fc.constant('')), { minLength: 1, maxLength: 8 }), (cells) => {
        const out = new Float64Array(cells.length);
        expect(readPlainNumbers(lineOf(cells.join(',')), comma, out)).toBe(cells.length);
        expect([...out]).toEqual(cells.map((cell) => (cell === '' ? Number.NaN : Number(cell))));
      }),
      { numRuns: 1000 },
    );
  });

  test('leaves to others whatever is not plain, and never reads it wrongly', () => {
    const text = fc.string({ unit: fc.constantFrom(...Array.from('0123456789.-+eE, x"')), maxLength: 24 });
    fc.assert(
      fc.property(text, (line) => {
        const out = new Float64Array(30);
        const count = readPlainNumbers(lineOf(line), comma, out);
        if (count < 0) return;
        const cells = line.split(',');
        expect(count).toBe(cells.length);
        expect([...out.slice(0, count)]).toEqual(cells.map((cell) => (cell === '' ? Number.NaN : Number(cell))));
      }),
      { numRuns: 3000 },
    );
  });

  test('refuses a row wider than expected', () => {
    expect(readPlainNumbers(lineOf('1,2,3'), comma, new Float64Array(2))).toBe(-1);
  });
});
