import { describe, expect, it } from 'vitest';
import { ageText, clockText, fixedText, ntuText } from '../../../dashboards/shared/format.ts';

describe('figures', () => {
  // Reporting steps of turbidity by range: from memory of Standard Methods 2130 B.
  it.each([
    [0.3, '< 0.5'],
    [-2, '< 0.5'],
    [0.5, '0.5'],
    [6.44, '6.4'],
    [9.94, '9.9'],
    [9.96, '10'],
    [12.6, '13'],
    [41, '40'],
    [43, '45'],
    [312, '310'],
    [430, '450'],
    [1340, '1300'],
    [12_345, '12\u202f300'],
  ])('prints %d NTU as %s', (ntu, text) => expect(ntuText(ntu)).toBe(text));

  it('never prints a minus before nothing', () => {
    expect(fixedText(-0.001, 2)).toBe('0.00');
    expect(fixedText(-0.5, 1)).toBe('\u22120.5');
  });

  it.each([
    [0.4, 'now'],
    [14.2, '14 s'],
    [180, '3 min'],
    [7200, '2 h'],
  ])('tells an age of %d s as %s', (ageS, text) => expect(ageText(ageS)).toBe(text));

  it.each([
    [0, '0:00'],
    [-30, '\u22120:30'],
    [599.6, '10:00'],
  ])('tells %d s on the axis as %s', (seconds, text) => expect(clockText(seconds)).toBe(text));
});
