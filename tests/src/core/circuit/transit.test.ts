import { describe, expect, it } from 'vitest';
import { Transit } from '../../../../src/core/circuit/transit.ts';

const input = { emitter: 'a', pathL: 4, isOwnPath: true, emitterL: 8, fill: 0.5 };

describe('transit', () => {
  it('counts the pipe, and what the emitter holds at the time', () => {
    const transit = new Transit();
    expect(transit.pipeL(input)).toBeCloseTo(4, 9);
    expect(transit.throughL(input)).toBeCloseTo(8, 9);
    expect(transit.throughL({ ...input, fill: 1 })).toBeCloseTo(12, 9);
  });

  it('is less sure of a path that is only the mean over all emitters', () => {
    const transit = new Transit();
    expect(transit.sdShare({ ...input, emitter: 'b', isOwnPath: false })).toBeGreaterThan(transit.sdShare(input));
  });

  it('moves to the litres that fronts took, and tells other emitters a part of it', () => {
    const transit = new Transit();
    for (let i = 0; i < 6; i += 1) transit.learn(5, 0.2, input);
    expect(transit.pipeL(input)).toBeGreaterThan(4.7);
    expect(transit.pipeL(input)).toBeLessThan(5.1);
    const other = transit.factor({ ...input, emitter: 'b' });
    expect(other).toBeGreaterThan(1.02);
    expect(other).toBeLessThan(transit.factor(input));
  });

  it('moves to the litres at which falls showed the water to have gone by, and leaves other falls out', () => {
    const transit = new Transit();
    for (let i = 0; i < 4; i += 1) transit.learnThrough(10, 0.5, input);
    expect(transit.throughL(input)).toBeGreaterThan(9);
    expect(transit.throughL(input)).toBeLessThan(10.1);
    const before = transit.throughL(input);
    for (const litres of [0, -3, 2, 40, Number.NaN]) transit.learnThrough(litres, 0.5, input);
    expect(transit.throughL(input)).toBe(before);
  });

  it('leaves absurd fronts out', () => {
    const transit = new Transit();
    for (const litres of [0, -3, 0.2, 60, Number.NaN]) transit.learn(litres, 0.2, input);
    expect(transit.factor(input)).toBe(1);
  });
});
