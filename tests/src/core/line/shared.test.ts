import { describe, expect, it } from 'vitest';
import { createAnalysis } from '../../../../src/core/analyse.ts';
import { defaultLineSettings } from '../../../../src/core/line/settings.ts';
import { makeRun, oneVisit } from './made-run.ts';

/** A baseline at 20 l/min, one emitter that gives 10, and another that opens beside it from 200 to 300 s. */
const run = makeRun({
  endS: 420,
  flowLpm: (t) => (t < 60 ? 20 : t < 200 ? 10 : t < 300 ? 15 : 10),
  events: [...oneVisit, [350, 'agitate-start', 'a'], [380, 'agitate-end', 'a']],
});

/** Litres that are waited for, by second. */
function needed(): ReadonlyMap<number, number> {
  const analysis = createAnalysis(run.context, defaultLineSettings);
  const out = new Map<number, number>();
  let next = 0;
  for (const sample of run.samples) {
    for (let e = run.events[next]; e && e.timeS <= sample.timeS; e = run.events[(next += 1)]) analysis.event(e);
    analysis.sample(sample);
    out.set(sample.timeS, analysis.figures.litresNeededL ?? Number.NaN);
  }
  return out;
}

describe('another emitter open beside the one that is worked on', () => {
  it('makes more water be waited for by its share, until a pass after it was shut', () => {
    const litres = needed();
    const alone = litres.get(190) ?? Number.NaN;
    // 1/Q^2 = c + 1/G^2 with c = 1/20^2: what is left to the first is the root of (1/15^2 - c) / (1/10^2 - c).
    const share = Math.sqrt((1 / 225 - 1 / 400) / (1 / 100 - 1 / 400));
    expect((litres.get(290) ?? 0) * share).toBeCloseTo(alone, 5);
    // Of the pass before the shutting part has come by with the other's water.
    expect(litres.get(345)).toBeCloseTo(alone / share, 5);
    expect(litres.get(400)).toBeCloseTo(alone, 5);
  });
});
