import fc from 'fast-check';
import { describe, expect, it } from 'vitest';
import { emptySample, type Sample } from '../../../src/core/quantity/sample.ts';
import { columnsOf, decimate, samplesOf, stepFor } from '../../../src/store/decimate.ts';

const sample = (timeS: number, turbidityNtu: number | null): Sample => ({ ...emptySample(timeS), turbidityNtu });

/** Uneven times, gaps, missing values. */
const rows = fc
  .array(
    fc.record({
      stepS: fc.oneof(fc.double({ min: 0.05, max: 0.2, noNaN: true }), fc.double({ min: 3, max: 40, noNaN: true })),
      ntu: fc.option(fc.double({ min: -5, max: 4000, noNaN: true }), { nil: null }),
    }),
    { minLength: 1, maxLength: 400 },
  )
  .map((steps) => {
    let timeS = 0;
    return steps.map(({ stepS, ntu }) => {
      timeS += stepS;
      return sample(timeS, ntu);
    });
  });

describe('decimate', () => {
  it('gives the smallest and the largest value of every bucket, whatever the span and the number of buckets', () => {
    fc.assert(
      fc.property(
        rows,
        fc.double({ min: 0, max: 0.9 }),
        fc.double({ min: 0.05, max: 1 }),
        fc.integer({ min: 2, max: 90 }),
        (all, at, width, buckets) => {
          const endS = all.at(-1)?.timeS ?? 0;
          const fromS = at * endS;
          const toS = Math.min(endS, fromS + width * endS);
          const drawn = decimate(columnsOf(all), ['turbidityNtu'], fromS, toS, buckets);
          const { timeS, values } = drawn;
          const ys = values.turbidityNtu ?? [];
          expect(ys.length).toBe(timeS.length);
          const stepS = drawn.stepS || stepFor(toS - fromS, buckets);
          for (let b = Math.floor(fromS / stepS); b <= Math.floor(toS / stepS); b += 1) {
            const inside = (t: number): boolean => t >= b * stepS && t < (b + 1) * stepS;
            const truth = all.filter((s) => inside(s.timeS) && s.turbidityNtu !== null).map((s) => s.turbidityNtu ?? 0);
            const shown = ys.filter((y, i) => y !== null && inside(timeS[i] ?? -1)).map((y) => y ?? 0);
            // Of nothing, both are infinite.
            expect(Math.min(...shown)).toBe(Math.min(...truth));
            expect(Math.max(...shown)).toBe(Math.max(...truth));
          }
        },
      ),
      { numRuns: 300 },
    );
  });

  it('finds a single reading of 8 hours at 10 Hz that stands out', () => {
    const spikeS = 17_003.4;
    const all = Array.from({ length: 288_000 }, (_, i) => sample(i / 10, i / 10 === spikeS ? 900 : 2));
    const { timeS, values } = decimate(columnsOf(all), ['turbidityNtu'], 0, 28_800, 1400);
    expect(timeS.length).toBeLessThan(2 * 1400 + 4);
    const at = (values.turbidityNtu ?? []).indexOf(900);
    expect(Math.abs((timeS[at] ?? 0) - spikeS)).toBeLessThan(32);
  });

  it('shows the same picture when the span is moved along', () => {
    const all = Array.from({ length: 4000 }, (_, i) => sample(i / 10, Math.sin(i) * 50 + 60));
    const columns = columnsOf(all);
    const points = (fromS: number): Map<number, number | null> => {
      const { timeS, values } = decimate(columns, ['turbidityNtu'], fromS, fromS + 200, 50);
      return new Map(timeS.map((t, i) => [t, values.turbidityNtu?.[i] ?? null]));
    };
    const [a, b] = [points(40), points(53.7)];
    const both = [...a.keys()].filter((t) => t > 60 && t < 230);
    expect(both.length).toBeGreaterThan(60);
    for (const t of both) expect(b.get(t)).toBe(a.get(t));
  });

  it('breaks the line at a silence and gives rows as they are when there is room', () => {
    const all = [sample(1, 5), sample(1.1, 6), sample(1.2, null), sample(9, 7), sample(9.1, 8)];
    const drawn = decimate(columnsOf(all), ['turbidityNtu', 'flowLpm'], 0, 10, 100);
    expect(drawn.stepS).toBe(0);
    expect(drawn.values.turbidityNtu).toEqual([5, 6, null, null, 7, 8]);
    expect(drawn.values.flowLpm).toEqual([null, null, null, null, null, null]);
  });

  it('keeps every sample as it was', () => {
    fc.assert(
      fc.property(rows, (all) => {
        expect([...samplesOf(columnsOf(all))]).toEqual(all);
      }),
      { numRuns: 50 },
    );
  });
});
