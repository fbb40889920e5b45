import fc from 'fast-check';
import { describe, expect, it } from 'vitest';
import { penaltyRules } from '../../../../src/core/changepoint/penalty.ts';
import { covering, delays, marginScore } from '../../../../src/core/changepoint/score.ts';
import { type SegmentInput, type Segmentation, segment } from '../../../../src/core/changepoint/segment.ts';
import { messageCodes } from '../../../../src/core/message/message.ts';
import { seeded } from './gaussian.ts';
import { column, done } from './tables.ts';

/** First-order autoregression of unit innovations. */
function remembering(n: number, phi: number, seed: number): number[] {
  const g = seeded(seed).normal;
  let y = g() / Math.sqrt(1 - phi * phi);
  return Array.from({ length: n }, () => (y = phi * y + g()));
}

function sums(x: readonly number[]): number[] {
  let s = 0;
  return x.map((v) => (s += v));
}

describe('a table with defaults, off-line', () => {
  it('finds levels under white and remembering noise', () => {
    const x = remembering(120, 0.3, 1).map((v, i) => v + (i >= 80 ? 1.2 : i >= 40 ? 3.6 : 0));
    const found = done({ columns: [column(x)] }).changepoints;
    expect(marginScore([40, 80], found, 3).f1).toBe(1);
  });

  it('finds none in quiet noise, in noise or a slope that wanders, in a smooth rise, in heavy tails, in a season', () => {
    const g = seeded(5).normal;
    const heavy = (): number => g() / Math.sqrt((g() ** 2 + g() ** 2 + g() ** 2) / 3);
    const quiet: Record<string, number[]> = {
      white: Array.from({ length: 150 }, g),
      wandering: remembering(200, 0.95, 2),
      rising: remembering(70, 0.8, 3).map((v, i) => 0.5 * v + 3 * Math.exp(0.05 * i)),
      bending: sums(remembering(300, 0.8, 4)),
      heavy: Array.from({ length: 400 }, heavy),
      season: Array.from({ length: 144 }, (_, i) => 10 * Math.sin((i * Math.PI) / 6) + g()),
      constant: Array.from({ length: 50 }, () => 4),
      short: [1, 2, 1],
    };
    for (const [name, x] of Object.entries(quiet))
      expect([name, done({ columns: [column(x)] }).changepoints]).toEqual([name, []]);
  });

  it('finds a step under a season, a change of spread, a change of slope', () => {
    const g = seeded(6).normal;
    const step = Array.from({ length: 144 }, (_, i) => 10 * Math.sin((i * Math.PI) / 6) + (i >= 90 ? 8 : 0) + 2 * g());
    const spread = Array.from({ length: 300 }, (_, i) => (i >= 150 ? 3 : 1) * g());
    const slope = Array.from({ length: 100 }, (_, i) => (i < 50 ? 0 : 1.5 * (i - 50)) + g());
    expect(marginScore([90], done({ columns: [column(step)] }).changepoints, 3).f1).toBe(1);
    expect(marginScore([150], done({ columns: [column(spread)] }).changepoints, 8).f1).toBe(1);
    expect(marginScore([50], done({ columns: [column(slope)] }).changepoints, 5).f1).toBe(1);
  });

  it('takes a slow season in noise for one, and finds a step under it', () => {
    const g = seeded(8).normal;
    const season = (period: number, cycles: number): number[] =>
      Array.from({ length: cycles * period }, (_, i) => 5 * Math.sin((2 * Math.PI * i) / period) + g());
    for (const period of [96, 144, 200]) {
      expect([period, done({ columns: [column(season(period, 6))] }).changepoints]).toEqual([period, []]);
      const at = Math.round(6.6 * period);
      const step = season(period, 12).map((v, i) => v + (i >= at ? 8 : 0));
      expect(marginScore([at], done({ columns: [column(step)] }).changepoints, 8).f1).toBe(1);
    }
  });

  it('finds many levels in a long series with wild values, and in one cut by blocks, to the row', () => {
    for (const scale of [1, 10]) {
      const { normal, uniform } = seeded(7);
      const truth = [200, 380, 420, 700, 1000, 1100, 1300].map((c) => c * scale);
      const levels = [0, 4, -3, 2, 6, 1, 5, 3];
      const x = Array.from({ length: 1500 * scale }, (_, i) => {
        const wild = uniform() < 0.02 ? 15 * (uniform() - 0.5) : 0;
        return (levels[truth.filter((c) => c <= i).length] ?? 0) + normal() + wild;
      });
      const found = done({ columns: [column(x)] }).changepoints;
      expect(marginScore(truth, found, 3).f1).toBe(1);
      expect(covering(truth, found, x.length)).toBeGreaterThan(0.98);
    }
  });

  it('finds one change in several columns that none shows clearly alone', () => {
    const g = seeded(9).normal;
    const columns = [0, 1, 2, 3].map((j) =>
      column(
        Array.from({ length: 160 }, (_, i) => g() + (i >= 90 ? 1.1 : 0)),
        `c${j}`,
      ),
    );
    const found = done({ columns });
    expect(marginScore([90], found.changepoints, 5).f1).toBe(1);
    expect(found.segments[0]?.mean).toHaveLength(4);
    expect(found.segments[0]?.sd).toHaveLength(4);
  });

  it('offset and scale do not matter', () => {
    fc.assert(
      fc.property(
        fc.integer({ min: 1, max: 9999 }),
        fc.double({ min: 0.01, max: 1000, noNaN: true }),
        (seed, scale) => {
          const g = seeded(seed).normal;
          const x = Array.from({ length: 80 }, (_, i) => g() + (i >= 37 ? 3 : 0));
          const a = done({ columns: [column(x)] }).changepoints;
          // Far below nought, so that logarithms are out of the question for both.
          expect(done({ columns: [column(x.map((v) => scale * v - 1e4 * scale))] }).changepoints).toEqual(a);
        },
      ),
      { numRuns: 15 },
    );
    expect(done({ columns: [column([])].slice(1).concat(column([1])) }).changepoints).toEqual([]);
  });
});

describe('published tables, with defaults', () => {
  // NIST/SEMATECH e-Handbook 6.3.2.3 (group means; the shift is from group 13 on) and 6.3.2.4 (none outside its limits).
  const means =
    '324.925 324.675 324.725 324.350 325.350 325.225 324.125 324.525 325.225 324.600 324.625 325.150 328.325 327.250 327.825 328.500 326.675 327.775 326.875 328.350';
  const quiet = '52.0 47.0 53.0 49.3 50.1 47.0 51.0 50.1 51.2 50.5 49.6 47.6 49.9 51.3 47.8 51.2 52.6 52.4 53.6 52.1';
  const numbers = (text: string) => text.split(' ').map(Number);

  it('finds the shift of the one and none in the other, alone, together, and on-line', () => {
    const columns = [column(numbers(means)), column(numbers(quiet), 'y')];
    expect(done({ columns: columns.slice(0, 1) }).changepoints).toEqual([12]);
    expect(done({ columns: columns.slice(1) }).changepoints).toEqual([]);
    expect(done({ columns }).changepoints).toEqual([12]);
    const first = done({ columns: columns.slice(0, 1), method: 'online', reference: 10 });
    expect(first.changepoints).toEqual([12]);
    expect(delays([12], first.alarms ?? [])[0]).toBeLessThanOrEqual(8);
    expect(done({ columns: columns.slice(1), method: 'online', reference: 10 }).alarms).toEqual([]);
  });
});

describe('tables that are small, holed or tied', () => {
  it('finds the obvious step in 4 to 7 rows, and none in a ramp, a spike or noise', () => {
    const steps: [number[], number[]][] = [
      [[1, 1.1, 5, 5.1], [2]],
      [[1, 1.1, 0.9, 5, 5.1, 4.9, 5], [3]],
      [[1, 1, 1, 5, 5, 5, 5], [3]],
      [[1, 2, 3, 4, 5, 6, 7], []],
      [[1, 1, 1, 9, 1, 1, 1], []],
      [[1, 9, 1], []],
    ];
    for (const [x, found] of steps) expect([x, done({ columns: [column(x)] }).changepoints]).toEqual([x, found]);
    const g = seeded(12).normal;
    const cut = Array.from({ length: 400 }, () => done({ columns: [column(Array.from({ length: 7 }, g))] }));
    // One in a hundred at most, by its own rule: 4 expected, 12 is four standard deviations more.
    expect(cut.filter((c) => c.changepoints.length > 0).length).toBeLessThan(12);
  });

  it('finds where two columns begin to go the other way together, though neither changes alone', () => {
    const g = seeded(13).normal;
    const first = Array.from({ length: 400 }, g);
    const second = first.map((v, i) => (i < 220 ? 0.9 : -0.9) * v + 0.44 * g());
    const columns = [column(first), column(second, 'y')];
    expect(marginScore([220], done({ columns }).changepoints, 6).f1).toBe(1);
    for (const c of columns) expect(done({ columns: [c] }).changepoints).toEqual([]);
    // A tie that holds throughout is no change.
    const tied = [
      column(first),
      column(
        first.map((v) => 0.9 * v + 0.44 * g()),
        'y',
      ),
    ];
    expect(done({ columns: tied }).changepoints).toEqual([]);
  });

  it('is not made blind by a column that is missing, constant, or there only where the other is not', () => {
    const g = seeded(14).normal;
    const x = Array.from({ length: 100 }, (_, i) => (i >= 50 ? 5 : 0) + g());
    const other = (of: (i: number) => number | null) =>
      column(
        Array.from({ length: 100 }, (_, i) => of(i)),
        'y',
      );
    for (const y of [other(() => null), other(() => 3), other((i) => (i % 10 === 3 ? g() : null))])
      for (const method of ['pelt', 'online'] as const)
        expect(marginScore([50], done({ columns: [column(x), y], method }).changepoints, 4).f1).toBe(1);
    const [odd, even] = [1, 0].map((k) => x.map((v, i) => (i % 2 === k ? v : null)));
    const halves = [column(odd ?? []), column(even ?? [], 'y')];
    expect(marginScore([50], done({ columns: halves }).changepoints, 4).f1).toBe(1);
  });

  it('takes a reading of two values only for what it is: one change of how often', () => {
    const { uniform } = seeded(15);
    const x = Array.from({ length: 240 }, (_, i) => (uniform() < (i >= 140 ? 0.85 : 0.15) ? 1 : 0));
    expect(marginScore([140], done({ columns: [column(x)] }).changepoints, 6).f1).toBe(1);
  });
});

describe('the answer', () => {
  const g = seeded(11).normal;
  const x = Array.from({ length: 90 }, (_, i) => g() * 0.5 + (i >= 45 ? 5 : 0));

  it('is half-open segments that follow one another, with mean and sample deviation', () => {
    const { changepoints, segments } = done({ columns: [column(x)] });
    expect(changepoints).toEqual([45]);
    expect(segments.map((s) => [s.from, s.to])).toEqual([
      [0, 45],
      [45, 90],
    ]);
    const first = x.slice(0, 45);
    const mean = first.reduce((a, b) => a + b, 0) / 45;
    expect(segments[0]?.mean).toBeCloseTo(mean, 12);
    expect(segments[0]?.sd).toBeCloseTo(Math.sqrt(first.reduce((a, v) => a + (v - mean) ** 2, 0) / 44), 12);
  });

  it('keeps the number of every row when cells are missing', () => {
    const holed = x.map((v, i) => (i % 7 === 4 ? null : v));
    expect(done({ columns: [column(holed)] }).changepoints).toEqual([45]);
    const late = [...Array.from({ length: 10 }, () => null), ...x];
    expect(done({ columns: [column(late)] }).changepoints).toEqual([55]);
    expect(done({ columns: [column(x.map(() => null))] })).toEqual({
      changepoints: [],
      segments: [{ from: 0, to: 90, mean: null, sd: null }],
    });
  });

  it('follows a penalty that is given: none is too many, a large one is none', () => {
    expect(done({ columns: [column(x)], penalty: 20 }).changepoints).toEqual([45]);
    expect(done({ columns: [column(x)], penalty: 1e6 }).changepoints).toEqual([]);
    expect(done({ columns: [column(x)], penalty: 0 }).changepoints.length).toBeGreaterThan(60);
    const two = [
      column(x),
      column(
        x.map((v) => -v),
        'y',
      ),
    ];
    expect(done({ columns: two, penalty: 20 }).changepoints).toEqual([45]);
  });

  it.each(penaltyRules)('finds the price of a change by %s, and no change where there is none', (penalty) => {
    const g = seeded(7).normal;
    const noise = Array.from({ length: 400 }, () => g());
    const steps = noise.map((v, i) => v + ([0, 3, 1, 5][Math.floor(i / 100)] ?? 0));
    expect(done({ columns: [column(steps)], penalty }).changepoints).toHaveLength(3);
    expect(done({ columns: [column(steps), column(noise, 'y')], penalty }).changepoints).toHaveLength(3);
    expect(done({ columns: [column(noise)], penalty }).changepoints).toEqual([]);
  });

  it('finds nothing at any price in a table that shows nothing', () => {
    for (const values of [[4], [4, 4, 4, 4, 4, 4, 4, 4, 4], [null, null, null]])
      for (const price of [...penaltyRules, 0, 5] as const)
        expect(done({ columns: [column(values), column(values, 'y')], penalty: price }).changepoints).toEqual([]);
  });

  it('finds the same whatever the unit: in values whose squares overflow, and in those whose squares vanish', () => {
    const g = seeded(12).normal;
    const step = Array.from({ length: 60 }, (_, i) => 10 + (i >= 30 ? 10 : 0) + 0.2 * g());
    const asked = [{}, { penalty: 'bic' }, { method: 'online' }] as const;
    for (const unit of [2 ** 1000, 2 ** -1000])
      for (const more of asked) {
        const plain = done({ columns: [column(step)], ...more });
        const found = done({ columns: [column(step.map((v) => v * unit))], ...more });
        expect(found.changepoints).toEqual(plain.changepoints);
        expect(found.changepoints).toContain(30);
        expect(found.segments[1]?.mean).toBe(Number(plain.segments[1]?.mean) * unit);
      }
  });

  it('refuses what it cannot use, and each refusal has its sentence', () => {
    const long = Array.from({ length: 20_001 }, (_, i) => i % 7);
    const wrong: [string, SegmentInput][] = [
      ['segment-no-columns', { columns: [] }],
      ['segment-no-rows', { columns: [column([])] }],
      ['segment-uneven', { columns: [column([1, 2]), column([1], 'y')] }],
      ['segment-not-finite', { columns: [column([1, Number.NaN])] }],
      ['segment-penalty', { columns: [column(x)], penalty: -1 }],
      ['segment-penalty-long', { columns: [column(long), column(long, 'y')], penalty: 'elbow' }],
      ['segment-reference', { columns: [column(x)], method: 'online', reference: 3 }],
      ['segment-time', { columns: [column([1, 2, 3])], time: [0, 2, 1] }],
    ];
    for (const [code, input] of wrong) {
      expect(segment(input)).toMatchObject({ refused: { code } });
      expect(messageCodes).toContain(code);
    }
  });
});

describe('a table on-line', () => {
  /** Eight columns, some that remember; at 600 three means move, at 800 all is as before. */
  function rig(seed: number, kind: 'none' | 'mean' | 'spread' | 'ties'): SegmentInput {
    const memory = [0, 0.3, 0.6, 0.8, 0.5, 0.7, 0, 0.3];
    const g = seeded(seed).normal;
    const rows = Array.from({ length: 1000 }, () => ({ common: g(), own: memory.map(() => g()) }));
    const columns = memory.map((phi, j) => {
      let y = 0;
      return column(
        rows.map((r, i) => {
          const on = i >= 600 && i < 800;
          const fresh = kind === 'ties' && !on ? 0.9 * r.common + 0.44 * (r.own[j] ?? 0) : (r.own[j] ?? 0);
          y = phi * y + Math.sqrt(1 - phi * phi) * fresh;
          const v = y * (kind === 'spread' && on && j < 3 ? 3 : 1) + (kind === 'mean' && on && j < 3 ? 2 : 0);
          return 10 * j + 0.3 * (j + 1) * v;
        }),
        `c${j}`,
      );
    });
    return { columns, method: 'online', reference: 400 };
  }

  it('stays silent on a quiet table and says changes of mean, spread and ties within 60 rows, dated back', () => {
    for (const seed of [1, 2, 3]) {
      expect(done(rig(seed, 'none')).alarms).toEqual([]);
      for (const kind of ['mean', 'spread', 'ties'] as const) {
        const { changepoints, alarms = [] } = done(rig(seed, kind));
        expect(Math.abs((changepoints[0] ?? 0) - 600)).toBeLessThanOrEqual(15);
        expect(delays([600], alarms)[0]).toBeLessThanOrEqual(60);
      }
    }
  });

  it('takes a lone wild value for no change, however wild, after a long reference and a short one', () => {
    let said = 0;
    for (const reference of [20, 60, 200, 400])
      for (const columns of [1, 3, 8])
        for (let seed = 1; seed <= 5; seed++) {
          const g = seeded(100 * seed + columns).normal;
          const input = Array.from({ length: columns }, (_, j) =>
            column(
              Array.from({ length: 700 }, (_, i) => g() + (j === 0 && i === 600 ? 1000 : 0)),
              `c${j}`,
            ),
          );
          const { alarms = [] } = done({ columns: input, method: 'online', reference });
          if (alarms.some((a) => a >= 600 && a < 640)) said += 1;
        }
    // Noise beside it can lift one over the bound: sixty tables, and before a move was bounded nearly all of them spoke.
    expect(said).toBeLessThanOrEqual(2);
  });

  it('sees a step of six deviations on a level of ten thousand million', () => {
    const g = seeded(13).normal;
    const x = Array.from({ length: 300 }, (_, i) => 1e10 + (i >= 150 ? 6 : 0) + g());
    expect(done({ columns: [column(x)], method: 'online' }).changepoints).toEqual([150]);
  });

  it('says the return to normal too', () => {
    const { changepoints } = done(rig(4, 'mean'));
    expect(marginScore([600, 800], changepoints, 15).f1).toBe(1);
  });

  it('is causal: a cut table says what the whole one said before the cut, and nothing in the reference', () => {
    for (const reference of [undefined, 50]) {
      const x = remembering(400, 0.4, 21).map((v, i) => v + (i >= 120 ? 5 : 0) + (i >= 260 ? 6 : 0));
      const ask = (rows: number): Segmentation =>
        done({ columns: [column(x.slice(0, rows))], method: 'online', ...(reference ? { reference } : {}) });
      const whole = ask(400);
      expect(whole.alarms?.length).toBeGreaterThanOrEqual(2);
      expect(Math.min(...whole.changepoints)).toBeGreaterThanOrEqual(reference ?? 20);
      for (let cut = 30; cut < 400; cut += 13) {
        const part = ask(cut);
        const before = (whole.alarms ?? []).filter((a) => a < cut);
        expect(part.alarms).toEqual(before);
        expect(part.changepoints).toEqual(whole.changepoints.slice(0, before.length));
      }
    }
  });
});
