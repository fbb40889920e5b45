import fc from 'fast-check';
import { describe, expect, it } from 'vitest';
import { spanOf, withoutLone } from '../../../../src/core/quantity/lone.ts';

/** Three hundred readings about 1.2, as a quiet gauge gives them, with others from the 150th on. */
const scatter = (i: number): number => Math.round(120 + 2 * Math.sin(12.9898 * i)) / 100;
const quiet = Array.from({ length: 300 }, (_, i) => scatter(i));
/** As `withoutLone` gives them, to be compared. */
const kept = (readings: readonly (number | null)[]): (number | null)[] =>
  [...withoutLone(readings)].map((v) => (Number.isNaN(v) ? null : v));
const withThese = (...others: readonly (number | null)[]): (number | null)[] =>
  quiet.map((v, i) => (others[i - 150] === undefined ? v : (others[i - 150] ?? null)));

describe('a lone wild reading', () => {
  it.each<[string, (number | null)[], number]>([
    ['over all others', withThese(9), 150],
    ['under all others', withThese(-4), 150],
    ['with no value beside it', withThese(null, 9, null), 151],
    ['the first of all', [9, ...quiet.slice(1)], 0],
    ['beside a high level that came before', [...Array.from({ length: 100 }, () => 2.3), ...withThese(2.2)], 250],
  ])('%s is none of the highest or lowest', (_what, readings, at) => {
    expect(kept(readings)).toEqual(readings.map((v, i) => (i === at ? null : v)));
  });

  it.each<[string, (number | null)[]]>([
    ['a peak that two readings bear out', withThese(3.31, 3.58, 2.4)],
    ['a step', [...quiet, ...quiet.map((v) => v + 3)]],
    ['scatter', quiet],
    ['a flicker of the last digit', Array.from({ length: 300 }, (_, i) => (i === 99 ? 1.21 : 1.2))],
    ['two readings', [1, 9]],
  ])('is not %s', (_what, readings) => {
    expect(kept(readings)).toEqual(readings);
  });

  it('is the same in any unit', () => {
    const reading = fc.integer({ min: 0, max: 40 });
    fc.assert(
      fc.property(fc.array(reading), (readings) => {
        const inOther = kept(readings.map((v) => 2 * v + 32));
        expect(kept(readings).map((v) => (v === null ? null : 2 * v + 32))).toEqual(inOther);
      }),
    );
  });
});

it('nothing read has no lowest and no highest', () => {
  expect(spanOf([Number.NaN, Number.NaN])).toBeNull();
  expect(spanOf([Number.NaN, 2, 1])).toEqual({ low: 1, high: 2 });
});
