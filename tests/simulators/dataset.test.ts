import { describe, expect, it } from 'vitest';
import { familyNames, simulateRun } from '../../simulators/dataset.ts';
import { claims } from './claims.ts';
import { unfit, untrue } from './run-checks.ts';

/** Short families are run whole; the others with one visit, to be quick (the long test runs all whole). */
const whole = ['loading', 'two-open', 'too-hot', 'rinse-cut-short'];
const limits = (name: string) => (whole.includes(name) ? {} : { visits: 1 });
const runs = new Map(familyNames.map((name) => [name, simulateRun(name, 11, limits(name))]));
/** Shown by one run in a few only. */
const rare = new Set(
  'fouling fold-back dark kink hasty dawdling reversed emptied leak filling-loop anything'.split(' '),
);
const shown = familyNames.filter((name) => !rare.has(name));

describe.each([...runs])('a run of family %s', (_name, run) => {
  it('holds what a recording may hold, in order', () => {
    expect(unfit(run)).toEqual([]);
  });

  it('has a truth that agrees with its own definition', () => {
    expect(untrue(run)).toEqual([]);
  });
});

describe('simulated runs', () => {
  it('are the same again for the same seed, and others for another', () => {
    const again = simulateRun('anything', 11, limits('anything'));
    expect(again.samples).toEqual(runs.get('anything')?.samples);
    expect(again.events).toEqual(runs.get('anything')?.events);
    expect(simulateRun('anything', 12, { visits: 1 }).samples.slice(0, 50)).not.toEqual(again.samples.slice(0, 50));
  });

  it('name the families there are when asked for another', () => {
    expect(() => simulateRun('no such', 1)).toThrow(/there is: ordinary/);
  });

  it('have a claim for each family, and none for another', () => {
    expect(Object.keys(claims).sort()).toEqual([...familyNames].sort());
  });

  // The others take more than one short run: dataset.long.test.ts holds all of them to it.
  it.each(shown)('show what their family is about: %s', (name) => {
    const run = runs.get(name);
    expect(run && claims[name]?.([run])).toBe(true);
  });
});
