import fc from 'fast-check';
import { describe, expect, it } from 'vitest';
import { ChannelMeans } from '../../../../src/core/quantity/channel-means.ts';
import { emptySample, sampleKeys, sampleOf, valuesInto } from '../../../../src/core/quantity/sample.ts';

const value = fc.option(fc.double({ min: -1e4, max: 1e4, noNaN: true }));
const sample = fc
  .record(Object.fromEntries(sampleKeys.map((key) => [key, value])))
  .map((values) => ({ ...emptySample(3), ...values }));

describe('a sample', () => {
  it('becomes a list by channel and comes back from it', () => {
    fc.assert(
      fc.property(sample, (s) => {
        const list = new Float64Array(sampleKeys.length);
        valuesInto(s, list);
        expect([...list]).toEqual(sampleKeys.map((key) => s[key] ?? Number.NaN));
        expect(sampleOf(3, list)).toEqual(s);
      }),
    );
  });

  it('is averaged channel by channel over what gave a value, span by span', () => {
    fc.assert(
      fc.property(fc.array(sample, { minLength: 1, maxLength: 12 }), (samples) => {
        const means = new ChannelMeans();
        for (const s of samples) means.add({ ...s, flowLpm: 1e6 });
        means.close(1);
        for (const s of samples) means.add(s);
        const mean = means.close(2);
        for (const key of sampleKeys) {
          const given = samples.flatMap((s) => (s[key] === null ? [] : [s[key]]));
          const expected = given.length === 0 ? null : given.reduce((a, b) => a + b) / given.length;
          expect((mean[key] ?? 0) - (expected ?? 0)).toBeCloseTo(0, 8);
          expect(mean[key] === null).toBe(expected === null);
        }
        expect(means.seen).toEqual(
          new Set(sampleKeys.filter((key) => key === 'flowLpm' || samples.some((s) => s[key] !== null))),
        );
      }),
    );
  });
});
