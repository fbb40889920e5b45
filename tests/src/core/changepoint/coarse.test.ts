import { describe, expect, it } from 'vitest';
import { marginScore } from '../../../../src/core/changepoint/score.ts';
import { seeded } from './gaussian.ts';
import { column, done } from './tables.ts';

describe('values that are coarse, rare or wild', () => {
  it('finds nothing in a lone blip, rare events, a coarse sensor that creeps, coarse noise, bursts', () => {
    const { normal: g, uniform } = seeded(15);
    let level = 20;
    let burst = 0;
    const of = (n: number, value: (i: number) => number): number[] => Array.from({ length: n }, (_, i) => value(i));
    const quiet: Record<string, number[]> = {
      blip: of(200, (i) => (i === 90 ? 9 : 7)),
      rare: of(2000, () => (uniform() < 0.005 ? 1 : 0)),
      creeping: of(800, () => {
        if (uniform() < 0.05) level += uniform() < 0.5 - 0.1 * (20 - level) ? -0.1 : 0.1;
        return Math.round(10 * level) / 10;
      }),
      coarse: of(500, () => Math.round(0.3 * g())),
      bursts: of(600, () => {
        burst = burst > 0 ? burst - 1 : uniform() < 0.01 ? 3 : 0;
        return g() + (burst > 0 ? 8 : 0);
      }),
    };
    for (const [name, x] of Object.entries(quiet))
      expect([name, done({ columns: [column(x)] }).changepoints]).toEqual([name, []]);
  });

  it('still finds each step of a column without any noise, and of coarse noise', () => {
    const g = seeded(16).normal;
    const levels = (i: number): number => (i < 30 ? 0 : i < 55 ? 4 : i < 80 ? 3 : 8);
    const still = Array.from({ length: 100 }, (_, i) => levels(i));
    expect(done({ columns: [column(still)] }).changepoints).toEqual([30, 55, 80]);
    // Few rows: the only moves that there are must not pass for noise.
    for (const stands of [
      [4, 4],
      [3, 5],
      [5, 5, 5],
      [10, 5, 10],
    ]) {
      const short = stands.flatMap((rows, i) => Array.from({ length: rows }, () => [2, 5, 9][i] ?? 0));
      const turns = stands.slice(1).map((_, i) => stands.slice(0, i + 1).reduce((a, b) => a + b));
      expect([stands, done({ columns: [column(short)] }).changepoints]).toEqual([stands, turns]);
    }
    const coarse = Array.from({ length: 500 }, (_, i) => Math.round(2 * (Math.floor(i / 125) % 2) + 0.3 * g()));
    expect(marginScore([125, 250, 375], done({ columns: [column(coarse)] }).changepoints, 2).f1).toBe(1);
  });

  it('finds a spread of its own for thirty rows, which is no tail', () => {
    const g = seeded(17).normal;
    const x = Array.from({ length: 400 }, (_, i) => (i >= 200 && i < 230 ? 5 : 1) * g());
    expect(marginScore([200, 230], done({ columns: [column(x)] }).changepoints, 4).f1).toBe(1);
  });

  it('finds nothing in eight quiet channels of over a thousand rows of which two wander together', () => {
    for (const seed of [18, 19]) {
      const g = seeded(seed).normal;
      let y = 0;
      const rows = Array.from({ length: 1100 }, () => {
        y = 0.999 * y + 0.045 * g();
        const temperatures = [70 + 2 * y + 0.08 * g(), 25 + 0.8 * y + 0.01 * g()];
        return [...temperatures, Math.round(0.45 * g()), Math.round(32 + 0.35 * g()), g(), g(), g(), g()];
      });
      const columns = rows[0]?.map((_, j) =>
        column(
          rows.map((r) => r[j] ?? 0),
          `c${j}`,
        ),
      );
      expect(done({ columns: columns ?? [] }).changepoints).toEqual([]);
    }
  });
});
