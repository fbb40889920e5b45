import fc from 'fast-check';
import { describe, expect, it } from 'vitest';
import { BubbleFilter } from '../../../../src/core/signal/bubbles.ts';
import { Noise } from '../../../../src/core/signal/noise.ts';
import { SecondGatherer } from '../../../../src/core/signal/seconds.ts';
import { Series } from '../../../../src/core/signal/series.ts';
import { emptySample } from '../../../../src/core/quantity/sample.ts';
import { gaussian } from '../line/made-run.ts';

describe('bubbles', () => {
  it('takes bursts of up to half its window out, and lets falls pass at once', () => {
    const filter = new BubbleFilter();
    const out = [20, 20, 20, 20, 20, 90, 95, 80, 20, 20].map((y) => filter.step(y, 7, 5));
    expect(out.map((o) => o.value)).toEqual([20, 20, 20, 20, 20, 20, 20, 20, 20, 20]);
    expect(out.filter((o) => o.bubble).length).toBe(3);
    expect(filter.step(3, 7, 5)).toEqual({ value: 3, bubble: false });
  });

  it('delays a real front by no more than its half width', () => {
    fc.assert(
      fc.property(fc.integer({ min: 3, max: 15 }), fc.double({ min: 30, max: 900, noNaN: true }), (half, height) => {
        const size = 2 * half + 1;
        const filter = new BubbleFilter();
        for (let i = 0; i < size; i += 1) filter.step(20, size, 5);
        let late = 0;
        while (filter.step(20 + height, size, 5).value < 20 + height) late += 1;
        expect(late).toBeLessThanOrEqual(half);
      }),
    );
  });
});

describe('noise', () => {
  const learned = (make: (i: number, g: () => number) => number) => {
    const g = gaussian(7);
    const noise = new Noise(0.15, 0.003, 4);
    for (let i = 0; i < 4000; i += 1) noise.step(make(i, g));
    return noise.sd(20);
  };

  it('is the standard deviation of white scatter', () => {
    expect(learned((_, g) => 20 + 1.5 * g())).toBeGreaterThan(1.5 * 0.85);
    expect(learned((_, g) => 20 + 1.5 * g())).toBeLessThan(1.5 * 1.25);
  });

  it('is not fooled by neighbours that are alike, by a ramp, or by bursts', () => {
    // First-order autoregression with half the value carried on: standard deviation 1 / sqrt(1 - 0.25).
    let x = 0;
    const alike = learned((_, g) => {
      x = 0.5 * x + g();
      return 20 + x;
    });
    expect(alike).toBeGreaterThan(1);
    expect(learned((i, g) => 20 + 0.01 * i + g())).toBeLessThan(1.2);
    expect(learned((i, g) => 20 + g() + (i % 50 === 0 ? 300 : 0))).toBeLessThan(1.25);
  });
});

describe('seconds', () => {
  it('hold the median of the readings that came, whatever the rate', () => {
    const gather = new SecondGatherer();
    for (const [i, y] of [4, 90, 5, 6, 5].entries()) {
      gather.add({ ...emptySample(i / 5), turbidityNtu: y, flowLpm: 10 + i }, y, false);
    }
    gather.add(emptySample(0.9), Number.NaN, false);
    expect(gather.close(1)).toMatchObject({ ntu: 5, count: 5, flowLpm: 12 });
    expect(gather.close(2)).toMatchObject({ ntu: Number.NaN, count: 0, flowLpm: Number.NaN });
  });
});

describe('series', () => {
  it('finds the second in which so many litres had passed, also after its ring has come round', () => {
    fc.assert(
      fc.property(fc.integer({ min: 10, max: 6000 }), fc.double({ min: 0.01, max: 0.4, noNaN: true }), (n, step) => {
        const series = new Series();
        for (let i = 0; i < n; i += 1) series.push(i, i * step, 0, 1, 0);
        const i = Math.max(series.first, n - 5);
        expect(series.byLitres(i * step + step / 2)).toBe(i);
        expect(series.byLitres(-1)).toBe(-1);
      }),
      { numRuns: 30 },
    );
  });
});
