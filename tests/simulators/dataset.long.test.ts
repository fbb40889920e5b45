import { describe, expect, it } from 'vitest';
import { familyNames, simulateRun } from '../../simulators/dataset.ts';
import { unfit, untrue } from './run-checks.ts';

describe.each(familyNames)('whole runs of family %s', (name) => {
  it.each([1, 2, 3, 4])('seed %i holds together', (seed) => {
    const run = simulateRun(name, seed);
    expect(unfit(run)).toEqual([]);
    expect(untrue(run)).toEqual([]);
  });
});
