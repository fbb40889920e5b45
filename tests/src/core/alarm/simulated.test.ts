import { describe, expect, it } from 'vitest';
import { simulateRun } from '../../../../simulators/dataset.ts';
import { watchRun } from './watched-run.ts';

// Bars from process-alarm practice, our choice: six an hour in a normal run, ten in the worst ten minutes of a bad one.
describe('alarms of simulated runs', () => {
  it.each(['ordinary', 'clean', 'heavy', 'bubbles', 'rinse'])('%s: a normal run has none at all', (family) => {
    expect(watchRun(simulateRun(family, 1, { visits: 2 })).risesS).toEqual([]);
  });

  it.each([
    ['pump-stops', 1, 'no-flow'],
    ['leak', 2, 'leak'],
    ['two-open', 1, 'two-open'],
    ['too-hot', 6, 'too-hot'],
    ['stuck', 2, 'sensor'],
    ['dark', 1, 'sensor'],
    ['gaps', 2, 'kit-silent'],
    ['rinse-mains-lost', 1, 'mains-lost'],
  ] as const)('%s %d: the one cause is the one alarm', (family, seed, kind) => {
    const got = watchRun(simulateRun(family, seed, { visits: 2 }));
    expect(got.kinds).toEqual([kind]);
    expect(got.worstTenMinutes).toBeLessThanOrEqual(10);
  });
});
