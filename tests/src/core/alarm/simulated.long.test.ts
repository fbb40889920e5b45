import { describe, expect, it } from 'vitest';
import { familyNames, simulateRun } from '../../../../simulators/dataset.ts';
import { watchRun } from './watched-run.ts';

// Links that break again and again, sensors that fail, an engineer who stops the pump and tells nobody.
const faults = new Set(['gaps', 'irregular', 'restarts', 'anything', 'stuck', 'dark', 'forgotten']);

describe('alarms of whole simulated runs, every family', () => {
  it.each(familyNames.map((f) => [f]))(
    '%s: never over ten in ten minutes, six an hour where nothing is broken',
    (family) => {
      for (let seed = 1; seed <= 2; seed++) {
        const got = watchRun(simulateRun(family, seed));
        expect(got.worstTenMinutes).toBeLessThanOrEqual(10);
        expect(got.perHour).toBeLessThanOrEqual(faults.has(family) ? 25 : 6);
      }
    },
  );
});
