import { describe, expect, it } from 'vitest';
import { Pipe } from '../../../simulators/circuit/pipe.ts';
import { Tank } from '../../../simulators/circuit/tank.ts';
import { at, background, dirtKinds, water } from '../../../simulators/circuit/water.ts';

/** Washout of N equal tanks in series after a step to clean water: e^(-N x) times the sum of (N x)^k / k!, k < N. */
function seriesWashout(tanks: number, volumes: number): number {
  let term = 1;
  let sum = 0;
  for (let k = 0; k < tanks; k += 1) {
    sum += term;
    term *= (tanks * volumes) / (k + 1);
  }
  return Math.exp(-tanks * volumes) * sum;
}

function simulatedWashout(tanks: number, volumes: number): number {
  const row = Array.from({ length: tanks }, () => new Tank(1 / tanks, water(1)));
  const steps = 4000;
  const flow = water(0);
  for (let i = 0; i < steps; i += 1) {
    flow.set(water(0));
    for (const tank of row) tank.through(volumes / steps, flow, flow);
  }
  return at(row.at(-1)?.content ?? flow, background);
}

function heldIn(pipe: Pipe): number {
  const sums = new Float64Array(dirtKinds);
  pipe.addHeld(sums);
  return at(sums, background);
}

describe('washout', () => {
  // Tanks-in-series theory (Levenspiel, Chemical Reaction Engineering, 3rd ed., ch. 14); digits computed from the formula.
  it.each([
    [1, 1, 0.36788],
    [2, 1, 0.40601],
    [5, 1, 0.44049],
    [10, 1, 0.45793],
    [20, 1, 0.47026],
    [1, 2, 0.13534],
    [2, 2, 0.09158],
    [5, 2, 0.02925],
    [10, 2, 0.005],
    [20, 2, 0.00018],
  ])('of %i tanks after %f volumes is %f', (tanks, volumes, expected) => {
    expect(seriesWashout(tanks, volumes)).toBeCloseTo(expected, 5);
    expect(simulatedWashout(tanks, volumes)).toBeCloseTo(expected, 3);
  });

  it('of one tank is exact for any step, however long', () => {
    const once = new Tank(8, water(1));
    const often = new Tank(8, water(1));
    const flow = water(0);
    once.through(12, water(0), flow);
    for (let i = 0; i < 100; i += 1) often.through(0.12, water(0), flow);
    expect(at(once.content, background)).toBeCloseTo(Math.exp(-1.5), 12);
    expect(at(often.content, background)).toBeCloseTo(Math.exp(-1.5), 12);
  });

  // 100 l, 10 l/min, 1800 to 330 µS/cm with mains of 300 takes 39.12 min (C/C0 = e^(-t/tau), textbook formula).
  it('reaches 330 µS/cm from 1800 with mains of 300 after 3.912 volumes', () => {
    const tank = new Tank(100, water(0, 1800));
    const flow = water(0);
    let minutes = 0;
    while (at(tank.content, 6) > 330) {
      tank.through(0.1, water(0, 300), flow);
      minutes += 0.01;
    }
    expect(minutes).toBeCloseTo(39.12, 1);
  });
});

describe('a pipe', () => {
  /** Mean and variance of a short pulse's way through, in litres. */
  function pulse(volumeL: number, tanks: number, stepL: number): { mean: number; variance: number; area: number } {
    const pipe = new Pipe(volumeL, tanks, water(0));
    const flow = water(0);
    let area = 0;
    let first = 0;
    let second = 0;
    for (let i = 0; i * stepL < volumeL * 9; i += 1) {
      flow.set(water(i === 0 ? 1 : 0));
      pipe.through(stepL, flow, flow);
      const x = i * stepL;
      const c = at(flow, background) * stepL;
      area += c;
      first += c * x;
      second += c * x * x;
    }
    return { mean: first / area, variance: second / area - (first / area) ** 2, area: area / stepL };
  }

  it.each([
    [3, 3],
    [8, 12],
    [5, 60],
    [0.5, 100],
  ])('of %f l that spreads like %i tanks has their mean and variance', (volumeL, tanks) => {
    const { mean, variance, area } = pulse(volumeL, tanks, volumeL / 2000);
    expect(area).toBeCloseTo(1, 6);
    expect(mean / volumeL).toBeCloseTo(1, 2);
    expect((variance / volumeL ** 2) * tanks).toBeCloseTo(1, 1);
  });

  it('gives back, turned round, what came in last', () => {
    const pipe = new Pipe(4, 30, water(0));
    const flow = water(0);
    for (let i = 0; i < 20; i += 1) {
      flow.set(water(50));
      pipe.through(0.05, flow, flow);
    }
    const held = heldIn(pipe);
    pipe.reverse();
    expect(heldIn(pipe)).toBeCloseTo(held, 9);
    flow.set(water(0));
    let out = 0;
    for (let i = 0; i < 24; i += 1) {
      flow.set(water(0));
      pipe.through(0.05, flow, flow);
      out += at(flow, background) * 0.05;
    }
    // Within little more than the litre that went in, most of it is out again.
    expect(out).toBeGreaterThan(0.55 * held);
  });
});
