import { beforeAll, describe, expect, it } from 'vitest';
import { makeBenchRun } from '../../../../bench/dataset.ts';
import { scoreRun } from '../../../../bench/score.ts';
import { emptyTally, type Tally } from '../../../../bench/tally.ts';
import { analyseRecording } from '../../../../src/core/analyse-recording.ts';

/**
 * The benchmark in small: fixed runs of the simulators, judged against truth by counts. The limits are what was reached
 * when they were set; a change that breaks one made the verdict worse (or the simulators other: then set them anew from
 * `npx tsx bench/verdict.ts` and say so).
 */
const runs: readonly (readonly [string, number])[] = [
  ['ordinary', 2],
  ['clean', 1],
  ['heavy', 1],
  ['stuck', 1],
  ['rinse', 1],
];

describe('the verdict against truth, in small', () => {
  const tally: Tally = emptyTally();
  beforeAll(() => {
    for (const [family, seed] of runs) {
      const run = makeBenchRun(family, seed);
      scoreRun(run, analyseRecording(run.context, run.samples, run.events), tally);
    }
  }, 60_000);

  it('shows clears, and few of them wrong', () => {
    expect(tally.clears).toBeGreaterThanOrEqual(36);
    expect(tally.wrongEcho).toBeLessThanOrEqual(4);
    expect(tally.clears / tally.passes).toBeLessThanOrEqual(1.1);
  });

  it('misses few visits that are truly clear', () => {
    expect(tally.due).toBeGreaterThanOrEqual(8);
    expect(tally.missed).toBeLessThanOrEqual(1);
  });

  it('finds the pulses and invents few', () => {
    expect(tally.lowHits + tally.tailHits).toBeGreaterThanOrEqual(45);
    expect(tally.pulses - tally.pulseHits).toBeLessThanOrEqual(12);
  });

  it('refuses where it must, and not elsewhere', () => {
    expect(tally.withheldRight).toBe(tally.mustWithhold);
    expect(tally.withheldWrong).toBe(0);
  });

  it('never says mains level too soon', () => {
    expect(tally.rinses).toBeGreaterThanOrEqual(1);
    expect(tally.rinseFalse).toBe(0);
    expect(tally.rinseMissed).toBe(0);
  });
});
