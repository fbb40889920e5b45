import fc from 'fast-check';
import { describe, expect, it } from 'vitest';
import {
  differenceToShown,
  insideUnits,
  shown,
  toInside,
  toShown,
  unitTable,
  type UnitName,
} from '../../../../src/core/quantity/units.ts';

const names = Object.keys(unitTable).filter((n): n is UnitName => n in unitTable);

describe('units that the user prefers', () => {
  it('every unit goes there and back', () => {
    fc.assert(
      fc.property(fc.constantFrom(...names), fc.double({ min: -50, max: 1e5, noNaN: true }), (name, value) => {
        const back = toInside(toShown(value, name), name);
        expect(Math.abs(back - value)).toBeLessThanOrEqual(1e-9 * Math.max(1, Math.abs(value)));
      }),
    );
  });

  // NIST SP 811, appendix B.8 (from memory): psi 6.894757 kPa, US gallon 3.785412 l, imperial gallon 4.54609 l.
  it('one bar is 14.504 psi, and the two gallons differ by a fifth', () => {
    expect(toShown(1, 'psi')).toBeCloseTo(14.5038, 4);
    expect(toInside(1, 'psi')).toBeCloseTo(0.06894757, 8);
    expect(toShown(10, 'US gal/min')).toBeCloseTo(2.641721, 6);
    expect(toShown(10, 'imp gal/min')).toBeCloseTo(2.199692, 6);
    expect(toShown(100, '°C')).toBe(100);
    expect(toShown(100, '°F')).toBe(212);
    expect(differenceToShown(10, '°F')).toBe(18);
  });

  it('prints the figure with its unit, which gallon included, and says when there is none', () => {
    const choice = { ...insideUnits, volume: 'US gal', pressure: 'psi' } as const;
    expect(shown(37.85411784, 'volume', choice)).toBe('10.0 US gal');
    expect(shown(1.2, 'pressure', choice)).toBe('17.4 psi');
    expect(shown(-0.001, 'temperature', insideUnits)).toBe('0.0 °C');
    expect(shown(null, 'flow', insideUnits)).toBe('not measured');
    expect(shown(Number.NaN, 'flow', insideUnits)).toBe('not measured');
  });
});
