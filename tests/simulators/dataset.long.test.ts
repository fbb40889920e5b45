import { describe, it } from 'vitest';
import { familyNames, simulateRun } from '../../simulators/dataset.ts';
import { expectRecordable, expectTrue } from './run-checks.ts';

describe.each(familyNames)('whole runs of family %s', (name) => {
  it.each([1, 2, 3, 4])('seed %i holds together', (seed) => {
    const run = simulateRun(name, seed);
    expectRecordable(run);
    expectTrue(run);
  });
});
