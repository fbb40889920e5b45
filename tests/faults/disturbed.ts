import type { BenchRun } from '../../bench/dataset.ts';
import { seeded } from '../../simulators/line/faults.ts';
import { brought, type FalseClear, falseClears, live } from './false-clears.ts';
import type { Shown } from './live-run.ts';
import { makes, momentOf } from './run-troubles.ts';

/** What came of one simulated run, undisturbed and then disturbed again and again. */
export interface Outcome {
  /** Clears shown, and those of them that are false in truth by what goes round (`own` false) or by the visit's own dirt. */
  readonly undisturbed: Tally;
  readonly disturbed: Tally;
  /** False clears that the undisturbed run did not show, each with how to make it again. */
  readonly brought: readonly string[];
  /** What should never happen. */
  readonly faults: readonly unknown[];
}

interface Tally {
  readonly clears: number;
  readonly falseOwn: number;
  readonly falseRound: number;
}

const tally = (clears: readonly Shown[], found: readonly FalseClear[]): Tally => ({
  clears: clears.length,
  falseOwn: found.filter((f) => f.own).length,
  falseRound: found.filter((f) => !f.own).length,
});

export const sum = (all: readonly Tally[]): Tally => ({
  clears: all.reduce((n, t) => n + t.clears, 0),
  falseOwn: all.reduce((n, t) => n + t.falseOwn, 0),
  falseRound: all.reduce((n, t) => n + t.falseRound, 0),
});

/** @param kinds of `makes`, one after the other, each at a moment drawn by chance from the seed, or at the one given. */
export function disturb(run: BenchRun, seed: number, kinds: readonly string[], momentS?: number): Outcome {
  const random = seeded(seed);
  const before = live(run, [], seed);
  const all: Tally[] = [];
  const told: string[] = [];
  const faults: unknown[] = [...before.faults];
  for (const kind of kinds) {
    const make = makes[kind];
    if (!make) throw new RangeError(`no trouble "${kind}"; there is: ${Object.keys(makes).join(', ')}`);
    const atS = momentS ?? momentOf(run, before.clears, random);
    const trouble = make(atS, random, run);
    const got = live(run, [trouble], seed);
    const found = falseClears(run, [trouble], got.clears);
    all.push(tally(got.clears, found));
    faults.push(...got.faults);
    if (got.rinseS !== null && before.rinseS === null)
      told.push(`${run.family} ${seed}: rinse at ${got.rinseS} (${kind})`);
    for (const f of brought(run, found, before.clears).filter((b) => b.own))
      told.push(
        `family ${run.family}, seed ${seed}, ${kind} (${trouble.name}) at ${atS.toFixed(1)} s: clear at ` +
          `${f.emitter}/${f.visit} at ${f.fromS.toFixed(1)} s, ${f.earlyS.toFixed(1)} s too early`,
      );
  }
  return {
    undisturbed: tally(before.clears, falseClears(run, [], before.clears)),
    disturbed: sum(all),
    brought: told,
    faults,
  };
}
