import fc from 'fast-check';
import { describe, expect, it } from 'vitest';
import { changesTo, rinseForecast, type RinsePoint, tanksInSeries } from '../../../../src/core/rinse/forecast.ts';
import { remainingCleaner } from '../../../../src/core/rinse/remaining.ts';
import { noiseFrom } from '../noise.ts';

/** A rinse of so many tanks and litres, read each litre, from an excess of 1500 to 30 uS/cm. */
const start = 1500;
const target = 30;
function rinse(tanks: number, volumeL: number, upToL: number, seed: number): RinsePoint[] {
  const next = noiseFrom(seed);
  return Array.from({ length: Math.floor(upToL) }, (_, i) => ({
    litres: i + 1,
    excess: start * tanksInSeries(tanks, (i + 1) / volumeL) + 4 * next(),
  }));
}
const input = (points: RinsePoint[], flowLpm = 10) => ({
  points,
  startExcess: start,
  targetExcess: target,
  uReading: 5,
  volumeL: 100,
  volumeShare: 0.15,
  flowLpm,
});

describe('washout of tanks in series', () => {
  it('falls all the way from one to nothing, and changesTo is its inverse', () => {
    fc.assert(
      fc.property(fc.integer({ min: 1, max: 20 }), fc.double({ min: 0, max: 6, noNaN: true }), (tanks, changes) => {
        const now = tanksInSeries(tanks, changes);
        expect(now).toBeLessThanOrEqual(1);
        expect(now).toBeGreaterThan(0);
        expect(tanksInSeries(tanks, changes + 0.1)).toBeLessThanOrEqual(now);
        // Near the beginning the curve is flat and has no inverse worth the name.
        expect(now > 0.99 || Math.abs(changesTo(tanks, now) - changes) < 1e-6).toBe(true);
      }),
    );
  });

  it('lets out exactly what was in it: the area under the washout is one change of water', () => {
    for (const tanks of [1, 2, 5, 20]) {
      let area = 0;
      for (let i = 0; i < 40000; i++) area += 0.001 * tanksInSeries(tanks, (i + 0.5) * 0.001);
      expect(area).toBeCloseTo(1, 5);
    }
  });
});

describe('forecast of the rinse', () => {
  it('the interval holds the exact tanks-in-series answer at least nine times in ten', () => {
    let inside = 0;
    let all = 0;
    for (const tanks of [1, 2, 3, 5, 8]) {
      for (const volumeL of [80, 100, 125]) {
        const endL = volumeL * changesTo(tanks, target / start);
        for (const share of [0.1, 0.3, 0.5, 0.7, 0.9]) {
          for (let seed = 1; seed <= 3; seed++) {
            const soFar = Math.floor(share * endL);
            const got = rinseForecast(input(rinse(tanks, volumeL, soFar, seed)));
            all++;
            if (got && got.fromL - 1 <= endL - soFar && endL - soFar <= got.toL + 1) inside++;
          }
        }
      }
    }
    expect(inside / all).toBeGreaterThan(0.9);
  });

  it('gets surer as the rinse goes on, and is close at the half', () => {
    const endL = 90 * changesTo(2, target / start);
    const width = (share: number): number => {
      const got = rinseForecast(input(rinse(2, 90, share * endL, 5)));
      return got ? got.toL - got.fromL : Number.NaN;
    };
    expect(width(0.8)).toBeLessThan(0.5 * width(0.05));
    const half = rinseForecast(input(rinse(2, 90, 0.5 * endL, 5)));
    expect(Math.abs((half?.litres ?? 0) / (0.5 * endL) - 1)).toBeLessThan(0.15);
  });

  it('counts in litres: twice the flow is half the time; no flow is no forecast', () => {
    const points = rinse(2, 100, 60, 1);
    const slow = rinseForecast(input(points, 5));
    const fast = rinseForecast(input(points, 10));
    expect(fast?.litres).toBe(slow?.litres);
    expect(slow?.seconds).toBeCloseTo(2 * (fast?.seconds ?? 0), 9);
    expect(rinseForecast(input(points, 0))).toBeNull();
    expect(rinseForecast({ ...input(points), targetExcess: 0 })).toBeNull();
    expect(rinseForecast({ ...input(points), targetExcess: 2000 })?.litres).toBe(0);
  });

  it('speaks before the first reading, from the survey alone', () => {
    const got = rinseForecast(input([]));
    expect(got && got.fromL < 391 && got.toL > 150).toBe(true);
  });
});

describe('remaining cleaner', () => {
  it('finds the share that was mixed in (mass balance), and rises with the sample', () => {
    fc.assert(
      fc.property(
        fc.double({ min: 0, max: 1, noNaN: true }),
        fc.double({ min: 50, max: 800, noNaN: true }),
        fc.double({ min: 200, max: 3000, noNaN: true }),
        (x, mains, step) => {
          const dosed = mains + step;
          const sample = x * dosed + (1 - x) * mains;
          const at = (value: number) =>
            remainingCleaner({ value, u: 5 }, { value: dosed, u: 5 }, { value: mains, u: 5 });
          expect(at(sample).share?.value).toBeCloseTo(x, 9);
          expect(at(sample + 1).share?.value ?? 0).toBeGreaterThan(at(sample).share?.value ?? 1);
        },
      ),
    );
  });

  it('is not told when the step is under three uncertainties, or the mains are the saltier', () => {
    const u = 5;
    expect(remainingCleaner({ value: 305, u }, { value: 320, u }, { value: 300, u }).verdict).toBe(
      'cleaner-hardly-conducts',
    );
    expect(remainingCleaner({ value: 305, u }, { value: 250, u }, { value: 300, u }).share).toBeNull();
    expect(remainingCleaner({ value: 305, u: 0 }, { value: 300, u: 0 }, { value: 300, u: 0 }).share).toBeNull();
  });
});
