import { afterAll, expect, test } from 'vitest';
import { familyNames } from '../../simulators/dataset.ts';
import { makeBenchRun } from '../../bench/dataset.ts';
import { disturb, type Outcome, sum } from './disturbed.ts';
import { makes } from './run-troubles.ts';

/** Troubles a run: over all families each kind comes about seven times, at other moments of other water. */
const troublesEach = 6;

const kinds = Object.keys(makes);
const outcomes: Outcome[] = [];

/**
 * Each run goes through the live path (bytes, clock, ingest, verdict) without a fault, then with one after the other. A
 * fault may withhold a clear or delay it; it may bring none while the visit's own dirt has not gone by, or while nothing
 * can be seen. LIMPID_FAULT_SEED draws other runs and moments; what fails says the seed.
 */
test.each(familyNames.map((family, i) => [family, i] as const))('no fault brings a false clear: %s', (family, i) => {
  const seed = Number(process.env['LIMPID_FAULT_SEED'] ?? 0) * 1000 + i + 1;
  const run = makeBenchRun(family, seed, { visits: i % 4 === 0 ? 2 : 1 });
  const mine = Array.from({ length: troublesEach }, (_, n) => kinds[(i * troublesEach + n) % kinds.length] ?? '');
  const outcome = disturb(run, seed, mine);
  outcomes.push(outcome);
  expect(outcome.faults).toEqual([]);
  expect(outcome.brought).toEqual([]);
});

test('faults make clears no more often false by what goes round the loop than they are without', () => {
  const undisturbed = sum(outcomes.map((o) => o.undisturbed));
  const disturbed = sum(outcomes.map((o) => o.disturbed));
  const share = (t: typeof disturbed): number => t.falseRound / t.clears;
  expect(disturbed.clears).toBeGreaterThan(200);
  expect(share(disturbed)).toBeLessThanOrEqual(share(undisturbed) + 0.03);
});

afterAll(() => {
  const total = {
    undisturbed: sum(outcomes.map((o) => o.undisturbed)),
    disturbed: sum(outcomes.map((o) => o.disturbed)),
  };
  console.log(JSON.stringify({ runs: outcomes.length, faults: outcomes.length * troublesEach, ...total }));
});
