import { describe, expect, it } from 'vitest';
import { bandsOf, scaldOf } from '../../src/core/hydraulics/bands.ts';
import { triggerLeftS, vibrationDay, vibrationPoints } from '../../src/core/job/vibration.ts';

const day = (uses: Parameters<typeof vibrationDay>[0]): { points: number; a8MS2: number; stand: string } => {
  const got = vibrationDay(uses);
  if (!got.ok) throw new Error(got.refusal.code);
  return got.value;
};

describe('hand-arm vibration', () => {
  // HSE ready reckoner, worked example on its page.
  it('5 m/s2 for 3 h: 150 points, over the action value', () => {
    const got = day([{ aMS2: 5, triggerS: 3 * 3600 }]);
    expect(got.points).toBe(150);
    expect(got.stand).toBe('over-action');
    expect(got.a8MS2).toBeCloseTo(3.062, 3);
  });

  // Inputs of the HSE calculator guide's example; its result could not be read, this is worked from the formula.
  it('10, 6 and 3.5 m/s2 for 15, 30 and 90 min add up to 122.75 points', () => {
    const got = day([
      { aMS2: 10, triggerS: 900 },
      { aMS2: 6, triggerS: 1800 },
      { aMS2: 3.5, triggerS: 5400 },
    ]);
    expect(got.points).toBeCloseTo(122.75, 9);
    expect(got.a8MS2).toBeCloseTo(2.77, 3);
  });

  // A training page: 200 points an hour, action value after 30 min, limit value after 120 min.
  it('10 m/s2: action value after 30 min, limit value after 2 h', () => {
    expect(vibrationPoints({ aMS2: 10, triggerS: 3600 })).toBe(200);
    expect(triggerLeftS(0, 10, 100)).toBe(30 * 60);
    expect(triggerLeftS(0, 10, 400)).toBe(120 * 60);
  });

  // Control of Vibration at Work Regulations 2005, regulation 4: 2.5 and 5 m/s2 A(8).
  it('2.5 and 5 m/s2 over eight hours are the action and the limit value', () => {
    expect(day([{ aMS2: 2.5, triggerS: 8 * 3600 }])).toMatchObject({ points: 100, a8MS2: 2.5, stand: 'over-action' });
    expect(day([{ aMS2: 5, triggerS: 8 * 3600 }])).toMatchObject({ points: 400, a8MS2: 5, stand: 'over-action' });
    expect(day([{ aMS2: 5, triggerS: 8 * 3600 + 60 }]).stand).toBe('over-limit');
  });
});

describe('hot water at the hand', () => {
  // 44 degrees: HSE Health Services Information Sheet 6. 60 degrees: a published burn table, second degree in 3 s.
  it('warns over 44 °C and strongly from 60 °C', () => {
    const bands = bandsOf('sealed');
    expect([20, 44, 44.1, 59.9, 60, null].map((c) => scaldOf(c, bands))).toEqual([
      'no',
      'no',
      'warn',
      'warn',
      'strong',
      'not-measured',
    ]);
  });
});
