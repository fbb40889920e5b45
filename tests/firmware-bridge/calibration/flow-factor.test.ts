import { describe, expect, it } from 'vitest';
import { flowFactor, litresByWeighing } from '../../../firmware-bridge/calibration/flow-factor.ts';

describe('flow meter by bucket and scale', () => {
  it('makes 10.0285 l of 10.000 kg at 20 °C (buoyancy 1.001052 by formula: arithmetic, not a published value)', () => {
    expect(litresByWeighing(10, 20)).toBeCloseTo(10.0285, 3);
  });

  it('gives the pulses a litre, and its spread over three buckets', () => {
    const runs = [4510, 4533, 4518].map((pulses) => ({ massKg: 10, uMassKg: 0.005, pulses, waterC: 20 }));
    const factor = flowFactor(runs);
    expect(factor.value).toBeCloseTo(4520.33 / 10.0285, 1);
    // Standard uncertainty of the mean of three: s / sqrt(3), s = 11.68 pulses over 10.0285 l.
    expect(factor.u).toBeCloseTo(11.676 / 10.0285 / Math.sqrt(3), 2);
    expect(factor.each).toHaveLength(3);
  });

  it('carries the scale of a single bucket', () => {
    const factor = flowFactor([{ massKg: 1, uMassKg: 0.01, pulses: 450, waterC: 20 }]);
    expect(factor.u / factor.value).toBeCloseTo(0.01, 3);
  });

  it('refuses an empty bucket', () => {
    expect(() => flowFactor([{ massKg: 0, uMassKg: 0, pulses: 10, waterC: 20 }])).toThrow('both must be above zero');
  });
});
