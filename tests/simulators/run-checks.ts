import { expect } from 'vitest';
import type { SimulatedRun } from '../../simulators/dataset.ts';
import { contextSchema } from '../../src/core/job/context.ts';
import { runEventSchema } from '../../src/core/job/event.ts';
import { channels } from '../../src/core/quantity/channels.ts';

/** Whatever a simulated run holds must be fit for a recording and for an analysis. */
export function expectRecordable(run: SimulatedRun): void {
  expect(contextSchema.safeParse(run.context).success).toBe(true);
  expect(run.samples.length).toBeGreaterThan(500);
  const falling = run.samples.filter((s, i) => i > 0 && s.timeS <= (run.samples[i - 1]?.timeS ?? 0));
  expect(falling).toEqual([]);
  const absurd = run.samples.filter((s) =>
    channels.some((c) => {
      const value = s[c.key];
      return value !== null && !(value >= c.min && value <= c.max);
    }),
  );
  expect(absurd).toEqual([]);
  for (const event of run.events) expect(runEventSchema.safeParse(event).success).toBe(true);
  const ids = new Set(run.context.emitters.map((e) => e.id));
  expect(run.events.filter((e) => e.emitter !== '' && !ids.has(e.emitter))).toEqual([]);
}

/** The truth must agree with its own definition, read again from its rows. */
export function expectTrue(run: SimulatedRun): void {
  expect(run.truth.visits.length).toBeGreaterThan(0);
  for (const visit of run.truth.visits) {
    expect(visit.toS).toBeGreaterThan(visit.fromS);
    const rows = run.truth.rows.filter((row) => row.timeS >= visit.fromS && row.timeS < visit.toS);
    for (const release of visit.releases) {
      expect(release.peakS).toBeGreaterThanOrEqual(release.onsetS);
      expect(release.peakNtu).toBeGreaterThanOrEqual(5);
      expect(release.onsetS).toBeGreaterThanOrEqual(visit.fromS);
    }
    if (visit.mustWithhold) expect(visit.trueClearS).toBeNull();
    if (visit.trueClearS === null) continue;
    expect(visit.ownClearS).not.toBeNull();
    expect(visit.ownClearS ?? 0).toBeLessThanOrEqual(visit.trueClearS);
    const passS = visit.passes.at(-1)?.endS ?? visit.fromS;
    expect(visit.trueClearS).toBeGreaterThan(passS);
    const limit = Math.max(5, 0.05 * visit.peakNtu);
    const at = rows.find((row) => row.timeS === visit.trueClearS);
    const atPass = rows.find((row) => row.timeS >= passS);
    expect((at?.litres ?? 0) - (atPass?.litres ?? 0)).toBeGreaterThanOrEqual(visit.pathL - 1e-9);
    const after = rows.filter((row) => row.timeS >= (visit.trueClearS ?? 0));
    for (const row of after) {
      expect(row.ownNtu).toBeLessThan(limit);
      if (visit.peakNtu >= 5)
        expect(row.ownPassedNtuL).toBeGreaterThanOrEqual(0.95 * (row.ownPassedNtuL + row.ownToComeNtuL) - 1e-9);
    }
  }
}
