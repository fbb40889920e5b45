import { describe, expect, it } from 'vitest';
import { createAnalysis } from '../../../../src/core/analyse.ts';
import { Background } from '../../../../src/core/line/background.ts';
import { defaultLineSettings } from '../../../../src/core/line/settings.ts';
import { gaussian, makeRun, oneVisit } from './made-run.ts';

/** A loop whose chambers clean its water: 40 NTU falling towards 20 with a time constant of 300 s. */
const falling = (timeS: number): number => 20 + 20 * Math.exp(-timeS / 300);

function idleUntil(endS: number, ntuAt: (timeS: number) => number, noiseNtu = 0.3): Background {
  const g = gaussian(3);
  const background = new Background(defaultLineSettings);
  for (let t = 1; t <= endS; t += 1) background.idle(t, ntuAt(t) + noiseNtu * g());
  return background;
}

describe('the level to which the return settles', () => {
  it('is carried on along the fall that was seen before the first visit', () => {
    const background = idleUntil(120, falling);
    for (const t of [150, 200, 300]) {
      background.to(t);
      // Held still it would be 6 NTU off after three minutes: more than the limit of clear.
      const heldStill = falling(120) - falling(t);
      expect(Math.abs(background.ntu - falling(t)), `at ${t} s`).toBeLessThan(0.6 + 0.5 * heldStill);
      expect(Math.abs(background.ntu - falling(t)), `at ${t} s`).toBeLessThan(3 * background.sd);
    }
  });

  it('is not carried on upwards, and stands where nothing moved', () => {
    const rising = idleUntil(120, (t) => 20 + 0.05 * t);
    const before = rising.ntu;
    rising.to(600);
    expect(rising.ntu).toBe(before);
    const still = idleUntil(120, () => 20);
    still.to(600);
    expect(still.ntu).toBeCloseTo(20, 0);
  });

  it('knows less the longer ago it was learned', () => {
    const background = idleUntil(120, falling);
    background.to(150);
    const soon = background.sd;
    background.to(600);
    expect(background.sd).toBeGreaterThan(soon);
    background.learn(600, 24, 0.5);
    expect(background.ntu).toBe(24);
    expect(background.sd).toBeLessThan(soon + 0.5);
  });

  it('may lie higher while water that has stood goes by', () => {
    const of = (unmixed: number) => {
      const background = new Background(defaultLineSettings);
      for (let t = 1; t <= 60; t += 1) background.idle(t, 12, unmixed);
      return background;
    };
    expect(of(0).sd).toBeLessThan(0.5);
    // A sixth and more of it: 2 NTU of 12.
    expect(of(1).sd).toBeGreaterThan(2);
    expect(of(1).ntu).toBe(of(0).ntu);
  });

  it('is the highest that stood before any dirt could come, where nothing was seen before the first visit', () => {
    const background = new Background(defaultLineSettings);
    background.guess(0, 20);
    const settledThenMixed = (t: number) => (t <= 30 ? 20 : t <= 60 ? 12 : 20);
    for (let t = 1; t <= 90; t += 1) background.before(t, settledThenMixed(t));
    expect(background.ntu).toBe(20);
    expect(background.sd).toBeLessThan(2);
    // What was known from a baseline is not touched.
    const known = idleUntil(120, () => 20);
    const { ntu } = known;
    for (let t = 121; t <= 200; t += 1) known.before(t, 30);
    expect(known.ntu).toBe(ntu);
  });

  it('is not learned from what goes round between two visits', () => {
    // The first visit is left with its dirt still on the way; nothing has taught the level meanwhile.
    const run = makeRun({
      endS: 260,
      events: [
        [0, 'stage:baseline', ''],
        [60, 'stage:emitters', ''],
        [61, 'emitter-open', 'a'],
        [100, 'agitate-end', 'a'],
        [110, 'emitter-shut', 'a'],
        [200, 'emitter-open', 'b'],
      ],
      pulses: [{ atS: 105, peakNtu: 200, tauS: 600 }],
    });
    const analysis = createAnalysis(run.context);
    let next = 0;
    let levelNtu: number | null = null;
    for (const sample of run.samples) {
      for (let e = run.events[next]; e && e.timeS <= sample.timeS; e = run.events[next]) {
        analysis.event(e);
        next += 1;
      }
      analysis.sample(sample);
      if (sample.timeS === 205) levelNtu = analysis.figures.backgroundNtu;
    }
    expect(levelNtu).toBeLessThan(25);
    expect(levelNtu).toBeGreaterThan(15);
  });
});

describe('without a flow sensor', () => {
  it('a front that comes soon after its pass shows that the water goes fast', () => {
    // 3 l of pipe in 18 s are 10 l/min, where 4 were reckoned.
    const visit = { endS: 400, pulses: [{ atS: 118, peakNtu: 300, tauS: 20 }], flowLpm: () => null };
    const run = makeRun({ ...visit, events: oneVisit });
    const analysis = createAnalysis(run.context);
    let next = 0;
    const reckoned: number[] = [];
    for (const sample of run.samples) {
      for (let e = run.events[next]; e && e.timeS <= sample.timeS; e = run.events[next]) {
        analysis.event(e);
        next += 1;
      }
      analysis.sample(sample);
      const lpm = analysis.verdict.reason.figures['reckonedLpm'];
      if (lpm !== undefined) reckoned.push(lpm);
    }
    expect(reckoned[0]).toBe(4);
    expect(reckoned.at(-1)).toBeGreaterThan(6);
    expect(reckoned.at(-1)).toBeLessThan(13);
  });
});
