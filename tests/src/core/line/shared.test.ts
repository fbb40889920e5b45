import { describe, expect, it } from 'vitest';
import { createAnalysis } from '../../../../src/core/analyse.ts';
import { defaultLineSettings } from '../../../../src/core/line/settings.ts';
import { type MadeRun, makeRun, oneVisit } from './made-run.ts';

const opened = oneVisit.filter(([, event]) => !event.startsWith('agitate'));

/** A baseline at 20 l/min, one emitter that gives 10, and another that opens beside it at 200 s, two seconds after a pass. */
const run = (shutS: number): MadeRun =>
  makeRun({
    endS: 420,
    flowLpm: (t) => (t < 60 ? 20 : t < 200 ? 10 : t < shutS ? 15 : 10),
    events: [...opened, [170, 'agitate-start', 'a'], [198, 'agitate-end', 'a'], [390, 'agitate-end', 'a']],
  });

/** Litres that are waited for, by second. */
function needed({ context, samples, events }: MadeRun): ReadonlyMap<number, number> {
  const analysis = createAnalysis(context, defaultLineSettings);
  const out = new Map<number, number>();
  let next = 0;
  for (const sample of samples) {
    for (let e = events[next]; e && e.timeS <= sample.timeS; e = events[(next += 1)]) analysis.event(e);
    analysis.sample(sample);
    out.set(sample.timeS, analysis.figures.litresNeededL ?? Number.NaN);
  }
  return out;
}

describe('another emitter open beside the one that is worked on', () => {
  const kept = needed(run(300));
  const alone = kept.get(199) ?? Number.NaN;
  // 1/Q^2 = c + 1/G^2 with c = 1/20^2: what is left to the first is the root of (1/15^2 - c) / (1/10^2 - c).
  const share = Math.sqrt((1 / 225 - 1 / 400) / (1 / 100 - 1 / 400));
  const beforeL = 2 / 6;

  it('makes more water be waited for by its share, from where the flow rose', () => {
    expect(kept.get(290)).toBeCloseTo(beforeL + (alone - beforeL) / share, 0);
  });

  it('no longer does when it was shut, also for the pass whose water was under way', () => {
    const shared = 15 * (40 / 60);
    const shut = needed(run(240));
    expect(shut.get(290)).toBeCloseTo(beforeL + shared + (alone - beforeL - shared * share), 0);
    expect(shut.get(290)).toBeLessThan((kept.get(290) ?? 0) - 1);
    expect(shut.get(400)).toBeCloseTo(alone, 5);
  });
});
