import fc from 'fast-check';
import { describe, expect, it } from 'vitest';
import {
  differenceToShown,
  insideUnits,
  shown,
  textInUnits,
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

  it('turns the figures of a sentence, with as many digits as counted before, and leaves rates of a label alone', () => {
    const us = { pressure: 'psi', flow: 'US gal/min', volume: 'US gal', temperature: '°F' } as const;
    const said = (text: string): string => textInUnits(text, us);
    expect(said('4.8 l since the last pass, 2.9 l needed')).toBe('1.27 US gal since the last pass, 0.77 US gal needed');
    expect(said('0.80 to 1.50 bar')).toBe('11.6 to 21.8 psi');
    expect(said('falls 0.012 ± 0.003 bar/min')).toBe('falls 0.17 ± 0.04 psi/min');
    expect(said('Over 44 °C, at 60 °C.')).toBe('Over 111 °F, at 140 °F.');
    expect(said('from 12.1 to 3.0 l/min')).toBe('from 3.20 to 0.79 US gal/min');
    expect(said('4,8 l nötig, 0,8 bis 1,5 bar')).toBe('1,27 US gal nötig, 12 bis 22 psi');
    expect(said('Water at 25 °C')).toBe('Water at 77 °F');
    for (const kept of [
      'Conductivity at 25 °C',
      'At 25 °C',
      '5 ml/l',
      '1 l/100 l',
      '0.5 l/m³',
      '30 ml/min',
      'R1 l',
      'emitter 3 leaks',
    ])
      expect(said(kept)).toBe(kept);
  });

  it('leaves every sentence as it is where our own units are chosen', () => {
    fc.assert(fc.property(fc.string(), (text) => textInUnits(text, insideUnits) === text));
    expect(textInUnits('4.8 l, 1 bar', insideUnits)).toBe('4.8 l, 1 bar');
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
