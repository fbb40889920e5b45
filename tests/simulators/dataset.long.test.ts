import { beforeAll, describe, expect, it } from 'vitest';
import { familyNames, type SimulatedRun, simulateRun } from '../../simulators/dataset.ts';
import { claims } from './claims.ts';
import { unfit, untrue } from './run-checks.ts';

const seeds = [1, 2, 3, 4];

describe.each(familyNames)('whole runs of family %s', (name) => {
  let runs: SimulatedRun[] = [];
  beforeAll(() => {
    runs = seeds.map((seed) => simulateRun(name, seed));
  });

  it('hold together', () => {
    expect(runs.map((run) => [...unfit(run), ...untrue(run)])).toEqual(seeds.map(() => []));
  });

  it('show what the family is about', () => {
    expect(claims[name]?.(runs)).toBe(true);
  });
});
