import { describe, expect, it } from 'vitest';
import { familyNames, simulateRun } from '../../simulators/dataset.ts';
import { unfit, untrue } from './run-checks.ts';

/** Short families are run whole; the others with one visit, to be quick (the long test runs all whole). */
const whole = ['loading', 'two-open', 'too-hot', 'rinse-cut-short'];
const limits = (name: string) => (whole.includes(name) ? {} : { visits: 1 });
const runs = new Map(familyNames.map((name) => [name, simulateRun(name, 11, limits(name))]));
const visitsOf = (name: string) => runs.get(name)?.truth.visits ?? [];

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

  it('show what their family is about', () => {
    expect(Math.max(...visitsOf('heavy').map((v) => v.peakNtu))).toBeGreaterThan(600);
    expect(Math.max(...visitsOf('clean').map((v) => v.peakNtu))).toBeLessThan(80);
    const hottest = (name: string) => Math.max(...(runs.get(name)?.samples ?? []).map((s) => s.supplyC ?? 0));
    expect(hottest('too-hot')).toBeGreaterThan(75);
    expect(hottest('ordinary')).toBeLessThan(65);
    expect(visitsOf('untold').length).toBeGreaterThan(0);
    expect(runs.get('untold')?.events.some((e) => e.event.startsWith('agitate'))).toBe(false);
    expect(visitsOf('stuck').some((v) => v.blind.some((b) => b.why === 'stuck'))).toBe(true);
    expect(visitsOf('saturation').some((v) => v.blind.some((b) => b.why === 'over-range'))).toBe(true);
    expect(visitsOf('pump-stops').some((v) => v.blind.some((b) => b.why === 'no-flow'))).toBe(true);
    expect(runs.get('two-open')?.truth.troubles.some((t) => t.name === 'two-open')).toBe(true);
    const loading = runs.get('loading')?.truth.rows ?? [];
    expect(loading.at(-1)?.chamberLoad).toBeGreaterThan(0.5);
    const doubled = (runs.get('restarts')?.rows.length ?? 0) - (runs.get('restarts')?.samples.length ?? 0);
    expect(doubled).toBeGreaterThan(10);
    expect(runs.get('second-turbidity')?.samples.some((s) => s.turbidityOutNtu !== null)).toBe(true);
    expect(runs.get('rinse-no-conductivity')?.samples.every((s) => s.conductivityUsCm === null)).toBe(true);
    expect(runs.get('rinse')?.truth.rinse?.trueAtMainsS).not.toBeNull();
    expect(runs.get('rinse-cut-short')?.truth.rinse?.trueAtMainsS).toBeNull();
  });
});
