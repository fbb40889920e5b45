import fc from 'fast-check';
import { describe, expect, it } from 'vitest';
import { askRinse } from '../../../../bench/rinse-forecast.ts';
import { heldOf } from '../../../../bench/held.ts';
import { makeBenchRun } from '../../../../bench/dataset.ts';
import { rinseForecast, type RinsePoint } from '../../../../src/core/rinse/forecast.ts';
import { remainingCleaner } from '../../../../src/core/rinse/remaining.ts';
import { noiseFrom } from '../noise.ts';

/** What is left after so many changes of water in N equal stirred tanks: 1 - F = e^-x sum x^k / k!, x = N theta (textbook). */
function leftIn(tanks: number, changes: number): number {
  let term = 1;
  let sum = 1;
  for (let k = 1; k < tanks; k++) {
    term *= (tanks * changes) / k;
    sum += term;
  }
  return Math.exp(-tanks * changes) * sum;
}

/** Fifty times what is allowed at the start, read each fifth of a litre. */
const startOver = 50;
const wayL = 40;
function rinse(tanks: number, upToL: number, seed: number): RinsePoint[] {
  const next = noiseFrom(seed);
  return Array.from({ length: Math.floor(5 * upToL) }, (_, i) => {
    const litres = (i + 1) / 5;
    return { litres, over: startOver * leftIn(tanks, litres / wayL) + 0.1 * next() };
  });
}
const input = (points: RinsePoint[], flowLpm = 10) => ({
  channels: [points],
  flowedL: points.at(-1)?.litres ?? 0,
  wayL,
  isFirst: true,
  flowLpm,
});

describe('forecast of the rinse', () => {
  it('holds the exact end of tanks in series in its interval eight times in ten', () => {
    let inside = 0;
    let all = 0;
    for (const tanks of [1, 2, 3, 5, 8]) {
      let endL = 0;
      while (startOver * leftIn(tanks, endL / wayL) > 1) endL += 0.1;
      for (const share of [0.2, 0.4, 0.6, 0.8, 0.9])
        for (let seed = 1; seed <= 3; seed++) {
          const restL = endL - Math.floor(5 * share * endL) / 5;
          const got = rinseForecast(input(rinse(tanks, share * endL, seed)));
          all++;
          if (got && got.fromL <= restL && restL <= got.toL) inside++;
        }
    }
    expect(inside / all).toBeGreaterThan(0.8);
  });

  it('holds the moment of mains level in simulated houses, one emitter and in rounds', () => {
    const asked = [makeBenchRun('rinse', 1), makeBenchRun('rinse-rounds', 2)].flatMap(askRinse);
    const { made = 0, inside = 0 } = heldOf(asked);
    expect(asked.length).toBeGreaterThan(40);
    expect(made).toBeGreaterThan(90);
    expect(inside).toBeGreaterThan(75);
  });

  it('counts in litres: twice the flow is half the time; no flow, or nothing read, is no forecast', () => {
    const points = rinse(2, 60, 1);
    const slow = rinseForecast(input(points, 5));
    const fast = rinseForecast(input(points, 10));
    expect(fast?.litres).toBe(slow?.litres);
    expect(slow?.seconds).toBeCloseTo(2 * (fast?.seconds ?? 0), 9);
    expect(rinseForecast(input(points, 0))).toBeNull();
    expect(rinseForecast(input([]))).toBeNull();
  });

  it('waits for the channel that takes longer', () => {
    const done = rinse(1, 60, 1).map((p) => ({ ...p, over: 0.5 }));
    const still = rinseForecast(input(rinse(1, 120, 1)));
    expect(rinseForecast({ ...input(rinse(1, 120, 1)), channels: [done, rinse(1, 120, 1)] })).toEqual(still);
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
