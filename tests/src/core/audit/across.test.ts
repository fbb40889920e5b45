import fc from 'fast-check';
import { describe, expect, it } from 'vitest';
import { across, groupings } from '../../../../src/core/audit/across.ts';
import { pickByLot } from '../../../../src/core/audit/by-lot.ts';
import { chartsOf } from '../../../../src/core/audit/charts.ts';
import { distributionOf } from '../../../../src/core/audit/distribution.ts';
import { kitDrifts } from '../../../../src/core/audit/drift.ts';
import { measures } from '../../../../src/core/audit/measures.ts';
import { type RunSummary, summaryVersion } from '../../../../src/core/audit/summary.ts';
import type { VisitSummary } from '../../../../src/core/audit/visit-summary.ts';

const visitOf = (more: Partial<VisitSummary> = {}): VisitSummary => ({
  emitter: 'hall',
  name: 'Hall',
  type: 'panel',
  visit: 1,
  fromS: 0,
  toS: 600,
  state: 'clear',
  done: true,
  withheld: false,
  clearAfterS: 300,
  passes: 3,
  peakNtu: 200,
  litres: 90,
  solidsG: 2,
  withheldS: 0,
  overridden: false,
  falseStart: false,
  withdrawn: 0,
  ...more,
});

const runOf = (i: number, more: Partial<RunSummary> = {}): RunSummary => ({
  v: summaryVersion,
  runId: `run-${i}`,
  title: '',
  simulated: false,
  startedAt: `2026-${String(1 + Math.floor(i / 28)).padStart(2, '0')}-${String(1 + (i % 28)).padStart(2, '0')}T08:00:00Z`,
  engineer: 'A',
  site: '',
  client: '',
  rig: 'kit-1',
  system: 'sealed',
  stage: 'end',
  endS: 7200,
  sealed: 'good',
  counts: { serious: 0, warning: 0, note: 0 },
  findings: {},
  figures: { waterUsedL: 100 + i },
  visits: [visitOf()],
  ...more,
});

/** An even scatter in -0.5 to 0.5, the same in every run. */
const scatter = (i: number): number => {
  const x = Math.sin(i * 78.233 + 1) * 43758.5453;
  return x - Math.floor(x) - 0.5;
};

describe('a distribution', () => {
  // R: quantile(c(3, 1, 4, 1, 5, 9, 2, 6), type = 7) gives 1, 1.75, 3.5, 5.25, 9; mean 3.875, sd 2.748376.
  it('gives the quantiles, mean and standard deviation of R', () => {
    const d = distributionOf([3, 1, null, 4, 1, 5, 9, 2, 6, Number.NaN]);
    expect([d?.n, d?.least, d?.q1, d?.median, d?.q3, d?.most, d?.mean]).toEqual([8, 1, 1.75, 3.5, 5.25, 9, 3.875]);
    expect(d?.sd).toBeCloseTo(2.748376, 6);
  });

  it('of one value has no spread, of none is none', () => {
    expect(distributionOf([7])).toEqual({ n: 1, least: 7, q1: 7, median: 7, q3: 7, most: 7, mean: 7, sd: null });
    expect(distributionOf([null, Number.POSITIVE_INFINITY])).toBeNull();
  });

  it('is ordered and does not depend on the order of its values', () => {
    fc.assert(
      fc.property(fc.array(fc.double({ noNaN: true, min: -1e6, max: 1e6 }), { minLength: 1 }), (values) => {
        const d = distributionOf(values);
        if (!d) throw new Error('none');
        expect(d.least <= d.q1 && d.q1 <= d.median && d.median <= d.q3 && d.q3 <= d.most).toBe(true);
        expect(distributionOf(values.toReversed())?.median).toBe(d.median);
      }),
    );
  });
});

describe('runs side by side', () => {
  const runs = [
    runOf(0, {
      engineer: 'B',
      visits: [visitOf({ type: 'column', clearAfterS: null, done: false, state: 'settling' })],
    }),
    runOf(1, { visits: [visitOf(), visitOf({ emitter: 'bath', type: 'towel-rail', clearAfterS: 100 })] }),
    runOf(30, { visits: [visitOf({ overridden: true }), visitOf({ falseStart: true, passes: 0, clearAfterS: null })] }),
  ];

  it('are grouped by month, engineer, rig or type of emitter, in the order of the names', () => {
    expect(across(runs, 'month').groups.map((g) => [g.key, g.runs, g.visits])).toEqual([
      ['2026-01', 2, 3],
      ['2026-02', 1, 2],
    ]);
    expect(across(runs, 'engineer').groups.map((g) => g.key)).toEqual(['A', 'B']);
    expect(across(runs, 'rig').groups.map((g) => [g.key, g.runs])).toEqual([['kit-1', 3]]);
    expect(across(runs, 'emitter-type').groups.map((g) => [g.key, g.runs, g.visits])).toEqual([
      ['column', 1, 1],
      ['panel', 2, 3],
      ['towel-rail', 1, 1],
    ]);
  });

  it('say how many visits were not clear beside the times of those that were', () => {
    const [a, b] = across(runs, 'engineer').groups;
    expect([b?.visits, b?.cleared, b?.measures['clearAfterS']]).toEqual([1, 0, null]);
    expect([a?.visits, a?.cleared, a?.measures['clearAfterS']?.n]).toEqual([4, 3, 3]);
    expect([a?.overrides, a?.falseStarts, a?.measures['passes']?.n]).toEqual([1, 1, 3]);
  });

  it('count a figure of the whole run once a run, and never with a type of emitter', () => {
    expect(across(runs, 'month').all.measures['waterUsedL']?.n).toBe(3);
    expect(across(runs, 'emitter-type').groups.every((g) => g.measures['waterUsedL'] === null)).toBe(true);
  });

  it('leave simulated water out, unless there is nothing else', () => {
    const made = runs.map((r) => ({ ...r, simulated: true }));
    expect(across([...made, runOf(5)], 'month').runs).toBe(1);
    expect(across(made, 'month').runs).toBe(3);
  });

  it('lose no visit in any grouping', () => {
    for (const by of groupings)
      expect(across(runs, by).groups.reduce((n, g) => n + g.visits, 0)).toBe(across(runs, by).all.visits);
  });
});

describe('charts across runs', () => {
  const usual = Array.from({ length: 24 }, (_, i) =>
    runOf(i, { visits: [visitOf({ clearAfterS: 300 * Math.exp(0.4 * scatter(i)) })] }),
  );

  it('call out the run that took thrice as long, and none of the usual', () => {
    const odd = runOf(24, { visits: [visitOf({ clearAfterS: 1500 })] });
    const { overTime } = chartsOf([odd, ...usual], 'clearAfterS', 'engineer');
    expect(overTime?.points.flatMap((p) => (p.out ? [p.key] : []))).toEqual(['run-24']);
    expect(overTime?.points.at(-1)?.key).toBe('run-24');
    expect(overTime?.points[0]?.lower).toBeGreaterThan(0);
    expect(overTime?.centre).toBeGreaterThan(250);
    expect(overTime?.centre).toBeLessThan(400);
  });

  it('set groups beside one another', () => {
    const slow = Array.from({ length: 8 }, (_, i) =>
      runOf(40 + i, { engineer: 'B', visits: [visitOf({ clearAfterS: 900 * Math.exp(0.4 * scatter(i + 99)) })] }),
    );
    const { byGroup } = chartsOf([...usual, ...slow], 'clearAfterS', 'engineer');
    expect(byGroup?.points.map((p) => [p.key, p.out])).toEqual([
      ['A', true],
      ['B', true],
    ]);
    expect(chartsOf(usual, 'clearAfterS', 'engineer').byGroup).toBeNull();
  });

  it('say nothing of a handful of runs, and name the measures when one is unknown', () => {
    expect(chartsOf(usual.slice(0, 5), 'clearAfterS', 'month').overTime).toBeNull();
    expect(() => chartsOf(usual, 'speed', 'month')).toThrow('clearAfterS');
    for (const name of Object.keys(measures)) expect(chartsOf(usual, name, 'month').measure).toBe(name);
  });
});

describe('a kit from run to run', () => {
  const withClean = (i: number, kitCleanNtu: number | null, rig = 'kit-1'): RunSummary =>
    runOf(i, { rig, figures: { kitCleanNtu } });

  it('that creeps shows up, with the run from which on; one that stands does not', () => {
    const still = Array.from({ length: 40 }, (_, i) => withClean(i, 0.3 + 0.6 * scatter(i), 'kit-still'));
    const creeping = Array.from({ length: 40 }, (_, i) =>
      withClean(i, 0.3 + 0.6 * scatter(i) + (i >= 20 ? 0.1 * (i - 19) : 0), 'kit-creeping'),
    );
    const drifts = kitDrifts([...creeping, ...still].toReversed());
    expect(drifts.map((d) => [d.rig, d.figure, d.shift === null])).toEqual([
      ['kit-creeping', 'kitCleanNtu', false],
      ['kit-still', 'kitCleanNtu', true],
    ]);
    const { shift } = drifts[0] ?? {};
    expect(shift?.direction).toBe('up');
    expect(shift?.by).toBeGreaterThan(0.2);
    const from = Number(shift?.fromRunId.slice(4));
    expect(from).toBeGreaterThanOrEqual(18);
    expect(from).toBeLessThanOrEqual(26);
    expect(Number(shift?.saidRunId.slice(4))).toBeLessThan(32);
  });

  it('that only scatters is seldom called out, however few runs there were to learn from', () => {
    const gauss = (i: number): number =>
      Math.sqrt(-2 * Math.log(scatter(2 * i) + 0.5 + 1e-9)) * Math.cos(2 * Math.PI * (scatter(2 * i + 1) + 0.5));
    const kits = Array.from({ length: 200 }, (_, k) =>
      Array.from({ length: 40 }, (_, i) => withClean(i, 1 + gauss(40 * k + i), `kit-${k}`)),
    );
    const out = kitDrifts(kits.flat()).filter((d) => d.shift !== null).length;
    // 200 kits of 32 judged runs at one alarm in 2,000 runs: 3.2 on average; 12 or more once in 10,000 tries.
    expect(out).toBeLessThan(12);
  });

  it('needs some runs to learn what is usual, and passes over runs that do not show it', () => {
    const few = [withClean(0, 0.3), withClean(1, null), withClean(2, 5)];
    const [drift] = kitDrifts(few);
    expect(drift?.points.map((p) => p.runId)).toEqual(['run-0', 'run-2']);
    expect([drift?.usual, drift?.shift]).toEqual([null, null]);
    expect(kitDrifts([withClean(0, 0.3, '')])).toEqual([]);
  });
});

describe('a lot', () => {
  const ids = Array.from({ length: 200 }, (_, i) => `run-${i}`);

  it('is the same for the same seed, in whatever order the runs came', () => {
    expect(pickByLot(ids.toReversed(), 12, 'march')).toEqual(pickByLot(ids, 12, 'march'));
    expect(pickByLot(ids, 12, 'april').picked).not.toEqual(pickByLot(ids, 12, 'march').picked);
    expect(pickByLot(ids, 12, 'march')).toMatchObject({ seed: 'march', of: 200 });
  });

  it('keeps its order when a run joins, draws none twice, and never more than there are', () => {
    const before = pickByLot(ids, 200, 's').picked;
    const after = pickByLot([...ids, 'new', 'run-3'], 300, 's').picked;
    expect(after.filter((id) => id !== 'new')).toEqual(before);
    expect(new Set(after).size).toBe(201);
    expect(pickByLot(ids, -1, 's').picked).toEqual([]);
  });

  it('is fair: over many seeds each run is drawn about as often', () => {
    const drawn = new Map<string, number>();
    for (let seed = 0; seed < 2000; seed += 1)
      for (const id of pickByLot(ids.slice(0, 20), 5, `${seed}`).picked) drawn.set(id, (drawn.get(id) ?? 0) + 1);
    // Expected 500 of 2,000 each, binomial sd 19.4; chi-squared of 20 cells with 19 degrees, 99.99 % point 51.2
    // (less the factor for drawing without putting back, 15/20).
    const chi = ids.slice(0, 20).reduce((sum, id) => sum + ((drawn.get(id) ?? 0) - 500) ** 2 / 500, 0);
    expect(chi).toBeLessThan(51);
  });
});
