import fc from 'fast-check';
import { describe, expect, it } from 'vitest';
import { Course, sureSlope } from '../../../../src/core/changepoint/course.ts';
import { seeded } from './gaussian.ts';
import { column, done } from './tables.ts';

const online = (values: readonly number[], reference?: number) =>
  done({ columns: [column(values)], method: 'online', ...(reference === undefined ? {} : { reference }) });

/** Flat, then rising by `slope` a row from one row to another, then flat again, in noise of deviation 1. */
function ramp(seed: number, rows: number, from: number, to: number, slope: number): number[] {
  const g = seeded(seed).normal;
  return Array.from({ length: rows }, (_, i) => slope * Math.max(0, Math.min(i, to) - from) + g());
}

describe('a ramp on-line', () => {
  it('is told when it begins and when it ends, not as many steps', () => {
    let told = 0;
    for (const seed of [1, 2, 3, 4, 5, 6])
      for (const reference of [undefined, 100]) {
        const { changepoints } = online(ramp(seed, 600, 200, 400, 0.06), reference);
        told += changepoints.length;
        expect(Math.abs((changepoints[0] ?? 0) - 200)).toBeLessThanOrEqual(35);
        expect(Math.abs((changepoints.at(-1) ?? 0) - 400)).toBeLessThanOrEqual(50);
      }
    // Twice each; cut into steps it was five times each.
    expect(told).toBeLessThanOrEqual(2 * 12 + 4);
  });

  it('that goes on to the end is told once', () => {
    const told = [1, 2, 3, 4, 5, 6].map((seed) => online(ramp(seed, 600, 200, 600, 0.08), 100).changepoints.length);
    expect(told.every((n) => n >= 1)).toBe(true);
    expect(told.reduce((a, b) => a + b, 0)).toBeLessThanOrEqual(6 + 3);
  });

  it('that the first rows show already is no change, and a step on it is one', () => {
    for (const seed of [1, 2, 3, 4]) {
      const g = seeded(seed).normal;
      const rise = Array.from({ length: 300 }, (_, i) => 0.05 * i + g());
      expect(online(rise, 100).changepoints).toEqual([]);
      const { changepoints } = online(
        rise.map((v, i) => v + (i >= 200 ? 6 : 0)),
        100,
      );
      expect(changepoints).toHaveLength(1);
      expect(Math.abs((changepoints[0] ?? 0) - 200)).toBeLessThanOrEqual(3);
    }
  });

  it('is told of several columns that rise together once, by how they go together too', () => {
    const g = seeded(7).normal;
    const rise = (i: number): number => 0.06 * Math.max(0, Math.min(i, 400) - 200);
    const columns = [0, 1, 2, 3].map((j) =>
      column(
        Array.from({ length: 500 }, (_, i) => (j < 2 ? rise(i) : 0) + g()),
        `c${j}`,
      ),
    );
    expect(done({ columns, method: 'online', reference: 150 }).changepoints.length).toBeLessThanOrEqual(3);
  });

  it('is causal: a cut table says what the whole one said before the cut', () => {
    const x = ramp(8, 400, 120, 260, 0.08);
    const whole = online(x, 50);
    expect(whole.changepoints.length).toBeGreaterThanOrEqual(2);
    for (let cut = 60; cut < 400; cut += 9) {
      const before = (whole.alarms ?? []).filter((a) => a < cut);
      const part = online(x.slice(0, cut), 50);
      expect(part.alarms).toEqual(before);
      expect(part.changepoints).toEqual(whole.changepoints.slice(0, before.length));
    }
  });
});

describe('the course of a column', () => {
  it('leaves the squares about mean, line and a given line that the rows themselves leave', () => {
    const value = fc.double({ min: -100, max: 100, noNaN: true });
    fc.assert(
      fc.property(fc.array(value, { minLength: 3, maxLength: 60 }), value, value, (y, level, slope) => {
        const course = new Course();
        y.forEach((v, i) => course.add(i, v));
        const squares = (of: (i: number) => number): number => y.reduce((s, v, i) => s + (v - of(i)) ** 2, 0);
        const mean = y.reduce((a, b) => a + b, 0) / y.length;
        const best = course.line();
        const near = (a: number, b: number): void => expect(Math.abs(a - b)).toBeLessThanOrEqual(1e-6 * (1 + b));
        near(
          course.aboutMean(),
          squares(() => mean),
        );
        near(
          course.aboutLine({ level, slope }),
          squares((i) => level + slope * i),
        );
        near(
          course.aboutLine(),
          squares((i) => best.level + best.slope * i),
        );
        // None is better than that of least squares.
        expect(course.aboutLine()).toBeLessThanOrEqual(course.aboutLine({ level, slope }) + 1e-6);
      }),
      { numRuns: 60 },
    );
  });

  it('believes a slope that stands out of the noise, and none that noise which remembers may draw', () => {
    let drawn = 0;
    for (let seed = 1; seed <= 100; seed++) {
      const g = seeded(seed).normal;
      expect(sureSlope(Array.from({ length: 30 }, (_, i) => 0.5 * i + g()))).toBeCloseTo(0.5, 0);
      let y = 0;
      if (sureSlope(Array.from({ length: 30 }, () => (y = 0.8 * y + g()))) !== 0) drawn += 1;
    }
    expect(drawn).toBeLessThanOrEqual(5);
    expect(sureSlope([1, 2, 3])).toBe(0);
  });
});
