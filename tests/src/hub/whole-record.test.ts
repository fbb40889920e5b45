import fc from 'fast-check';
import { expect, it } from 'vitest';
import { type Piece, sealFile, wholeRecord } from '../../../src/hub/whole-record.ts';

/** Pieces of a file, cut at these places. */
function cut(file: string, body: Uint8Array, places: readonly number[]): Piece[] {
  const ends = [...new Set([...places.map((p) => p % body.length), body.length])]
    .filter((p) => p > 0)
    .sort((a, b) => a - b);
  return ends.map((end, i) => ({
    file,
    at: ends[i - 1] ?? 0,
    of: body.length,
    body: body.subarray(ends[i - 1] ?? 0, end),
  }));
}

const seal = new TextEncoder().encode('no seal, to be refused elsewhere');

it('is the file that was cut, in whatever order its pieces came, cut in two ways, of each all or some', () => {
  const bytes = fc.uint8Array({ minLength: 1, maxLength: 200 });
  const places = fc.array(fc.nat(199), { maxLength: 6 });
  fc.assert(
    fc.property(bytes, places, places, fc.infiniteStream(fc.nat(1000)), (body, first, second, draw) => {
      const next = (): number => draw.next().value ?? 0;
      const two = cut('a', body, second).filter((_, i) => i % 2 === next() % 2);
      const mixed = [...cut('a', body, first), ...two, ...cut(sealFile, seal, [])].sort(() => next() - 500);
      expect(wholeRecord(mixed)?.find(({ file }) => file === 'a')?.body).toEqual(body);
    }),
  );
});

it('is nothing while a byte is missing, and where a piece says that it lies beyond the end', () => {
  const body = Uint8Array.from({ length: 100 }, (_, i) => i);
  const [start, middle, end] = cut('a', body, [40, 60]);
  if (!start || !middle || !end) throw new Error('not cut in three');
  const whole = cut(sealFile, seal, []);
  expect(wholeRecord([...whole, start, end])).toBe(null);
  expect(wholeRecord([...whole, start, middle])).toBe(null);
  expect(wholeRecord([...whole, start, middle, { ...end, at: 61 }])).toBe(null);
  expect(wholeRecord([start, middle, end])).toBe(null);
});
