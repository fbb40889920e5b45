import { describe, expect, it } from 'vitest';
import { densityKgM3 } from '../../../../src/core/water/density.ts';

describe('density of water', () => {
  // IAPWS-95 at 1 bar absolute by python3-iapws 1.5.3 (Debian): an independent library, not a published table.
  it.each([
    [10, 999.702],
    [20, 998.207],
    [40, 992.216],
    [60, 983.195],
    [80, 971.79],
  ])('at %d °C is within 0.01 kg/m3 of IAPWS-95', (celsius, expected) => {
    expect(Math.abs(densityKgM3(celsius) - expected)).toBeLessThan(0.01);
  });

  it('is greatest between 3.9 and 4.1 °C', () => {
    const peak = densityKgM3(3.98);
    expect(peak).toBeGreaterThan(densityKgM3(3.9));
    expect(peak).toBeGreaterThan(densityKgM3(4.1));
  });

  it('refuses what is not liquid water', () => {
    expect(() => densityKgM3(-1)).toThrow('-1 °C is outside 0 to 100 °C');
    expect(() => densityKgM3(Number.NaN)).toThrow(RangeError);
  });
});
