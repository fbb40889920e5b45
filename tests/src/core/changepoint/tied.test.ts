import { describe, expect, it } from 'vitest';
import { marginScore } from '../../../../src/core/changepoint/score.ts';
import { seeded } from './gaussian.ts';
import { column, done } from './tables.ts';

const table = (rows: readonly (readonly number[])[]) => ({
  columns: (rows[0] ?? []).map((_, j) =>
    column(
      rows.map((r) => r[j] ?? 0),
      `c${j}`,
    ),
  ),
});

describe('columns that go together', () => {
  /** Two thermometers that follow one wandering temperature; from `at` on the second reads `by` higher. */
  const thermometers = (seed: number, at: number, by: number, offset = 0) => {
    const g = seeded(seed).normal;
    let y = 0;
    return table(
      Array.from({ length: 400 }, (_, i) => {
        y = 0.9 * y + g();
        return [offset + y + 0.2 * g(), offset + y + 0.2 * g() + (i >= at ? by : 0)];
      }),
    );
  };

  it('show a step of one that its own wandering hides, and none where there is none, whatever their level', () => {
    for (const seed of [1, 2, 3])
      for (const offset of [0, 500]) {
        expect(done(thermometers(seed, 250, 0, offset)).changepoints).toEqual([]);
        expect(marginScore([250], done(thermometers(seed, 250, 4, offset)).changepoints, 3).f1).toBe(1);
      }
  });

  it('show where the way they go together changes, far from nought as near it, under noise that remembers', () => {
    for (const offset of [0, 300]) {
      const g = seeded(4).normal;
      let [a, b] = [0, 0];
      const rows = Array.from({ length: 600 }, (_, i) => {
        const common = g();
        a = 0.6 * a + common;
        b = 0.6 * b + (i < 320 ? 0.9 : -0.9) * common + 0.44 * g();
        return [offset + a, offset + b];
      });
      expect(marginScore([320], done(table(rows)).changepoints, 8).f1).toBe(1);
    }
  });

  it('show a spread of one of eight that changes while others wander, in over a thousand rows', () => {
    const g = seeded(5).normal;
    let [y, z] = [0, 0];
    const rows = Array.from({ length: 1200 }, (_, i) => {
      y = 0.97 * y + 0.24 * g();
      z = 0.9 * z + 0.44 * g();
      const rest = Array.from({ length: 5 }, () => g());
      return [70 + y, 25 + z, (i >= 600 ? 2.5 : 1) * g(), ...rest];
    });
    expect(marginScore([600], done(table(rows)).changepoints, 12).f1).toBe(1);
  });
});
