import { describe, expect, it } from 'vitest';
import { covarianceOfMeans, independent, meanOf, propagate } from '../../../firmware-bridge/calibration/propagate.ts';

/**
 * JCGM 100:2008 (GUM), example H.2: simultaneous resistance and reactance measurement. Five sets of potential (V),
 * current (A) and phase (rad); published R 127.732 (0.071), X 219.847 (0.295), Z 254.260 (0.236) ohm,
 * r(R,X) -0.588, r(R,Z) -0.485, r(X,Z) 0.993.
 */
const volts = [5.007, 4.994, 5.005, 4.99, 4.999];
const amps = [19.663, 19.639, 19.64, 19.685, 19.678].map((mA) => mA / 1000);
const phase = [1.0456, 1.0438, 1.0468, 1.0428, 1.0433];
const impedance = ([v = 0, i = 0, p = 0]: readonly number[]): number[] => [
  (v / i) * Math.cos(p),
  (v / i) * Math.sin(p),
  v / i,
];
const means = [volts, amps, phase].map((s) => meanOf(s).value);

describe('propagation of uncertainty', () => {
  it('reproduces GUM example H.2 with its correlations', () => {
    const { values, u, r } = propagate(impedance, means, covarianceOfMeans([volts, amps, phase]));
    const published = [127.732, 219.847, 254.26];
    const publishedU = [0.071, 0.295, 0.236];
    for (let o = 0; o < 3; o++) {
      expect(Math.abs((values[o] ?? 0) - (published[o] ?? 0))).toBeLessThan(0.002);
      expect(Math.abs((u[o] ?? 0) - (publishedU[o] ?? 0))).toBeLessThan(0.002);
    }
    expect(r[0]?.[1]).toBeCloseTo(-0.588, 2);
    expect(r[0]?.[2]).toBeCloseTo(-0.485, 2);
    expect(r[1]?.[2]).toBeCloseTo(0.993, 2);
  });

  it('differs when the correlations of H.2 are left out, as it must', () => {
    const { u } = propagate(impedance, means, independent([volts, amps, phase].map(meanOf)));
    expect(u[0]).toBeCloseTo(0.195, 2);
    expect(u[1]).toBeCloseTo(0.201, 2);
    expect(u[2]).toBeCloseTo(0.204, 2);
  });

  it('adds nothing for an input that is known exactly', () => {
    const { u } = propagate(
      ([a = 0, b = 0]) => [a * b],
      [2, 3],
      independent([
        { value: 2, u: 0 },
        { value: 3, u: 0.1 },
      ]),
    );
    expect(u[0]).toBeCloseTo(0.2, 9);
  });
});
