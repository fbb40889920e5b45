import fc from 'fast-check';
import { expect, test } from 'vitest';
import { insert, remove } from '../../../../src/core/quantity/sorted.ts';

const ascending = (values: readonly number[]): number[] => values.toSorted((a, b) => a - b);
const few = fc.array(fc.integer({ min: -5, max: 5 }), { maxLength: 20 });

test('what is put in one by one stands as sorting it all would have it', () => {
  fc.assert(
    fc.property(few, (values) => {
      const sorted: number[] = [];
      for (const value of values) insert(sorted, value);
      expect(sorted).toEqual(ascending(values));
    }),
  );
});

test('one of a value is taken out, and nothing where there is none', () => {
  fc.assert(
    fc.property(few, fc.integer({ min: -6, max: 6 }), (values, gone) => {
      const sorted = ascending(values);
      remove(sorted, gone);
      const left = [...values];
      if (left.includes(gone)) left.splice(left.indexOf(gone), 1);
      expect(sorted).toEqual(ascending(left));
    }),
  );
});
