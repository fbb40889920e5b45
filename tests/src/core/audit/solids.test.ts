import { describe, expect, it } from 'vitest';
import { simulateRun } from '../../../../simulators/dataset.ts';
import { drive } from '../../../../src/core/audit/drive.ts';
import { SolidsMeter } from '../../../../src/core/job/solids.ts';

describe('solids that a visit carried', () => {
  it.each(['ordinary', 'heavy'])('are those of the noise-free water, within a fifth: %s', (family) => {
    const { context, samples, events, truth } = simulateRun(family, 5, { visits: 3 });
    const entries = events.map((event, i) => ({ id: `e${i}`, who: 'engineer', event }));
    const { live } = drive(context, samples, entries);
    expect(live.dirt.visits.length).toBeGreaterThanOrEqual(3);
    for (const { fromS, solids } of live.dirt.visits) {
      const visit = truth.visits.find((v) => Math.abs(v.toldFromS - fromS) < 1);
      const toS = visit?.toldToS ?? visit?.toS ?? fromS;
      const water = new SolidsMeter();
      for (const row of truth.rows)
        if (row.timeS >= fromS && row.timeS <= toS)
          water.add(row.timeS, row.totalNtu - row.backgroundNtu - row.settledEchoNtu, row.flowLpm);
      const grams = water.result().grams.value;
      // What stands at the limit of detection for a visit's litres is no dirt: 0.2 g.
      expect(Math.abs(solids.grams.value - grams)).toBeLessThan(0.2 * grams + 0.2);
    }
  });
});
