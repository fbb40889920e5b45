import fc from 'fast-check';
import { expect, test } from 'vitest';
import { Sequence } from '../../../firmware-bridge/wire/sequence.ts';

test('property: a sequence knows exactly which numbers came', () => {
  fc.assert(
    fc.property(fc.array(fc.nat(80), { maxLength: 200 }), (numbers) => {
      const sequence = new Sequence();
      const came = new Set<number>();
      for (const n of numbers) {
        expect(sequence.place(n).kind === 'seen').toBe(came.has(n));
        sequence.add(n, n);
        came.add(n);
      }
    }),
  );
});

test('its memory is bounded: after thousands of holes the oldest is taken as filled, the newest are known', () => {
  const sequence = new Sequence();
  for (let n = 0; n < 20_000; n += 2) sequence.add(n, n);
  expect(sequence.place(1).kind).toBe('seen');
  expect(sequence.place(19_997).kind).toBe('fills');
  expect(sequence.place(19_999).kind).toBe('next');
});
