import fc from 'fast-check';
import { describe, expect, it } from 'vitest';
import { Buckets } from '../../../src/core/rate.ts';

const rate = fc.record({
  burst: fc.integer({ min: 1, max: 50 }),
  perS: fc.double({ min: 0.1, max: 100, noNaN: true }),
});
/** Waits between one asking and the next (seconds), most of them short. */
const gaps = fc.array(fc.oneof(fc.constant(0), fc.double({ min: 0, max: 3, noNaN: true })), { maxLength: 200 });

function granted(buckets: Buckets, key: string, pauses: readonly number[]): number[] {
  let nowS = 1000;
  const times: number[] = [];
  for (const pause of pauses) {
    nowS += pause;
    if (buckets.take(key, nowS) === 0) times.push(nowS);
  }
  return times;
}

describe('a bucket', () => {
  it('never gives more than the burst and the rate over any span', () =>
    fc.assert(
      fc.property(rate, gaps, (r, pauses) => {
        const times = granted(new Buckets(r), 'a', pauses);
        for (let i = 0; i < times.length; i++)
          for (let j = i; j < times.length; j++) {
            const spanS = (times[j] ?? 0) - (times[i] ?? 0);
            expect(j - i + 1).toBeLessThanOrEqual(r.burst + r.perS * spanS + 1e-3);
          }
      }),
    ));

  it('gives whoever stays below the rate all that is asked for', () =>
    fc.assert(
      fc.property(rate, fc.integer({ min: 1, max: 300 }), (r, n) => {
        const pauses = Array.from({ length: n }, () => 1 / r.perS + 1e-9);
        expect(granted(new Buckets(r), 'a', pauses)).toHaveLength(n);
      }),
    ));

  it('gives after the wait that it told, and not before', () =>
    fc.assert(
      fc.property(rate, (r) => {
        const buckets = new Buckets(r);
        for (let i = 0; i < r.burst; i++) expect(buckets.take('a', 5)).toBe(0);
        const waitS = buckets.take('a', 5);
        expect(waitS).toBeGreaterThan(0);
        expect(buckets.take('a', 5 + waitS * 0.9)).toBeGreaterThan(0);
        expect(buckets.take('a', 5 + waitS)).toBe(0);
      }),
    ));

  it('is no other key’s: what one is given does not hang on what the others ask', () =>
    fc.assert(
      fc.property(rate, gaps, fc.integer({ min: 1, max: 20 }), (r, pauses, flood) => {
        const alone = granted(new Buckets(r), 'a', pauses);
        const shared = new Buckets(r);
        let nowS = 1000;
        const times: number[] = [];
        for (const pause of pauses) {
          nowS += pause;
          for (let i = 0; i < flood; i++) shared.take(`flood-${i}`, nowS);
          if (shared.take('a', nowS) === 0) times.push(nowS);
        }
        expect(times).toEqual(alone);
      }),
    ));

  it('keeps no more than some thousand keys, however many come', () => {
    const buckets = new Buckets({ burst: 2, perS: 0.001 });
    for (let i = 0; i < 50_000; i++) buckets.take(`${i}`, 1);
    expect(buckets.keys).toBeLessThanOrEqual(4096);
    expect(buckets.take('49999', 1)).toBe(0);
    expect(buckets.take('49999', 1)).toBeGreaterThan(0);
  });
});
