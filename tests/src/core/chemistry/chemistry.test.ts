import fc from 'fast-check';
import { describe, expect, it } from 'vitest';
import { volumeByDilution } from '../../../../src/core/chemistry/dilution.ts';
import { doseLitres, strengthOf } from '../../../../src/core/chemistry/dose.ts';
import { parseRate, rateUnits, shareOf } from '../../../../src/core/chemistry/label-rate.ts';
import { defaultLimits, limitSetSchema, testItems } from '../../../../src/core/chemistry/limits.ts';
import { mixingOf, type MixPoint } from '../../../../src/core/chemistry/mixed.ts';
import { nextCheck } from '../../../../src/core/chemistry/next-check.ts';
import { toleranceOf } from '../../../../src/core/chemistry/tolerance.ts';
import { compareTests, impossibleReadings, swappedItems } from '../../../../src/core/chemistry/water-test.ts';
import { say } from '../../../../src/core/message/message.ts';
import { exact } from '../../../../src/core/quantity/interval.ts';
import { noiseFrom } from '../noise.ts';

describe('label rate and dose', () => {
  it('one rate in four units is one share', () => {
    for (const text of ['10 ml/l', '1 l/100 l', '10 l/m3', '1 %', '1,0 percent', '1 l per 100 l', '10 ML per litre']) {
      const rate = parseRate(text);
      if (!rate.ok) throw new Error(`${text}: ${rate.refusal.code}`);
      expect(shareOf(rate.value)).toBeCloseTo(0.01, 12);
    }
  });

  it('a rate in the wrong unit is refused with what was likely meant', () => {
    const refusal = (text: string): string => {
      const got = parseRate(text);
      return got.ok ? 'taken' : say(got.refusal);
    };
    expect(refusal('10 %')).toContain('Did you mean 10 ml/l or 10 l/m³?');
    expect(refusal('0.01 ml/l')).toContain('which no label means');
    expect(refusal('500 ml/l')).not.toContain('Did you mean');
    expect(refusal('5 g/l')).toContain('a weight');
    expect(refusal('800 ppm')).toContain('strength test');
    expect(refusal('1 l')).toContain('without its water');
    expect(refusal('1')).toContain('no unit');
    expect(refusal('1 cup')).toContain(rateUnits.join(', '));
    expect(refusal('much')).toContain('no label rate');
    expect(refusal('-1 %')).toContain('no label rate');
    expect(refusal('0 %')).toContain('no label rate');
  });

  it('dose grows with volume and rate and carries the volume’s uncertainty as a share', () => {
    fc.assert(
      fc.property(
        fc.double({ min: 20, max: 5000, noNaN: true }),
        fc.double({ min: 0.001, max: 0.3, noNaN: true }),
        (litres, share) => {
          const rate = { amount: 10, unit: 'ml/l' } as const;
          const dose = doseLitres({ value: litres, u: litres * share }, rate);
          if (!dose.ok) throw new Error(dose.refusal.code);
          expect(dose.value.value).toBeCloseTo(litres / 100, 9);
          expect(dose.value.u / dose.value.value).toBeCloseTo(share, 9);
          const full = strengthOf(dose.value, { value: litres, u: 0 }, rate);
          expect(full.ok && full.value.value).toBeCloseTo(1, 9);
        },
      ),
    );
    expect(doseLitres(exact(0), { amount: 1, unit: '%' }).ok).toBe(false);
    expect(doseLitres(exact(Number.NaN), { amount: 1, unit: '%' }).ok).toBe(false);
  });
});

describe('mixed', () => {
  /** A dose going round a loop of 40 l: a wave that fades by a factor each turn around a plateau. */
  const circuit = (plateau: number, fade: number, noise: number, seed = 1): MixPoint[] => {
    const next = noiseFrom(seed);
    return Array.from({ length: 400 }, (_, i) => {
      const litres = i * 0.8;
      const wave = Math.exp(-litres / (40 * fade)) * Math.cos((2 * Math.PI * litres) / 40);
      return { litres, usCm25: 300 + plateau * (1 + wave) + noise * next() };
    });
  };
  const before = { value: 300, u: 5 };
  const stateAt = (points: MixPoint[], litres: number): string =>
    mixingOf(
      before,
      points.filter((p) => p.litres <= litres),
      40,
    ).state;

  it('waits two ways round, sees the wave, and says mixed once it is flat; never before', () => {
    const points = circuit(1500, 1, 3);
    expect(stateAt(points, 60)).toBe('waiting');
    expect(stateAt(points, 90)).toBe('mixing');
    expect(stateAt(points, 310)).toBe('mixed');
    const states = [90, 120, 150, 180, 210, 240, 270, 300].map((l) => stateAt(points, l));
    expect(states.lastIndexOf('mixing')).toBeLessThan(states.indexOf('mixed'));
    expect(mixingOf(before, points, 40).step?.value).toBeCloseTo(1500, -1.5);
  });

  it('a cleaner that hardly conducts leaves it undecided for ever', () => {
    for (let seed = 1; seed <= 20; seed++) expect(stateAt(circuit(10, 1, 3, seed), 310)).toBe('undecided');
  });

  it('readings that stay away leave it waiting', () => {
    expect(mixingOf(before, [], 40)).toEqual({ state: 'waiting', step: null });
    expect(mixingOf(before, [{ litres: 200, usCm25: 900 }], 40).state).toBe('waiting');
  });
});

describe('system volume by dilution', () => {
  it('gives back the volume that diluted the dose (mass balance), for every strength', () => {
    const litres = fc.double({ min: 30, max: 2000, noNaN: true });
    fc.assert(
      fc.property(
        litres,
        fc.double({ min: 0.002, max: 0.02, noNaN: true }),
        fc.double({ min: 3e4, max: 3e5, noNaN: true }),
        (volume, share, perShare) => {
          const dose = volume * share;
          const jugShare = 10 / 1010;
          const got = volumeByDilution(
            { value: dose, u: 0.01 * dose },
            { value: share * perShare, u: 0.02 * share * perShare },
            { value: 10, u: 0.1 },
            { value: jugShare * perShare, u: 0.01 * jugShare * perShare },
          );
          if (!got.ok) throw new Error(got.refusal.code);
          expect(got.value.value / volume).toBeCloseTo(1, 9);
          expect(got.value.u / volume).toBeCloseTo(Math.hypot(0.01, 0.02, 0.01, 0.01 * (1000 / 1010)), 6);
        },
      ),
    );
  });

  it('refuses a step lost in its uncertainty', () => {
    const got = volumeByDilution(exact(1), { value: 10, u: 5 }, exact(10), exact(500));
    expect(!got.ok && say(got.refusal)).toContain('in the system is 10 µS/cm, known to 5');
    expect(volumeByDilution(exact(0), exact(100), exact(10), exact(500)).ok).toBe(false);
  });
});

describe('protection', () => {
  it('remaining cleaner against a fifth: decided only outside the uncertainty, and binding only after a short rinse', () => {
    expect(toleranceOf({ value: 0.05, u: 0.02 }, 'cut-short')).toBe('tolerated');
    expect(toleranceOf({ value: 0.19, u: 0.02 }, 'cut-short')).toBe('undecided');
    expect(toleranceOf({ value: 0.4, u: 0.02 }, 'cut-short')).toBe('too-much');
    expect(toleranceOf(null, 'cut-short')).toBe('not-measured');
    expect(toleranceOf({ value: 0.4, u: 0.02 }, 'at-mains')).toBe('not-binding');
  });

  it('the next check keeps the day of the month or takes the last; agrees with the calendar of the platform', () => {
    const value = (day: string, months: number): string => {
      const got = nextCheck(day, months);
      return got.ok ? got.value : say(got.refusal);
    };
    expect(value('2024-02-29', 12)).toBe('2025-02-28');
    expect(value('2026-11-30', 3)).toBe('2027-02-28');
    expect(value('2027-11-30T10:00:00Z', 3)).toBe('2028-02-29');
    expect(value('2099-08-31', 18)).toBe('2101-02-28');
    expect(value('2026-02-30', 1)).toContain('is no day');
    expect(value('31.12.2026', 1)).toContain('is no day');
    fc.assert(
      fc.property(
        fc.date({ min: new Date('1990-01-01'), max: new Date('2150-12-28'), noInvalidDate: true }),
        fc.integer({ min: 1, max: 120 }),
        (d, months) => {
          const day = Math.min(d.getUTCDate(), 28);
          const from = new Date(Date.UTC(d.getUTCFullYear(), d.getUTCMonth(), day));
          const to = new Date(Date.UTC(d.getUTCFullYear(), d.getUTCMonth() + months, day));
          expect(value(from.toISOString().slice(0, 10), months)).toBe(to.toISOString().slice(0, 10));
        },
      ),
    );
  });
});

describe('water tests', () => {
  const mains = { conductivity: { value: 300, u: 3 }, turbidity: { value: 0.5, u: 0.1 } };

  it('the default limits fit their schema, say where each comes from, and know aluminium', () => {
    for (const set of [defaultLimits(['steel', 'copper']), defaultLimits(['copper', 'aluminium'])]) {
      expect(limitSetSchema.parse(set)).toEqual(set);
      for (const limit of set.limits) expect(limit.origin).toMatch(/from memory|no source|not read|no public standard/);
    }
    const after = { ph: { value: 9.6, u: 0.1 } };
    const ph = (materials: Parameters<typeof defaultLimits>[0]) =>
      compareTests({}, after, {}, defaultLimits(materials)).find((r) => r.item === 'ph')?.verdict;
    expect(ph(['steel'])).toBe('inside');
    expect(ph(['steel', 'aluminium'])).toBe('outside');
  });

  it('before, after and limit side by side; what was not measured is said', () => {
    const rows = compareTests(
      { conductivity: { value: 900, u: 9 }, iron: { value: 12, u: 1 } },
      { conductivity: { value: 310, u: 3 } },
      mains,
      defaultLimits(['steel']),
    );
    const by = (item: string) => rows.find((r) => r.item === item);
    expect(by('conductivity')).toMatchObject({ most: 330, verdict: 'inside', before: { value: 900 } });
    expect(by('turbidity')).toMatchObject({ most: 5.5, verdict: 'not-measured', after: 'not-measured' });
    expect(by('iron')).toMatchObject({ verdict: 'not-measured', most: null, origin: null });
    expect(by('copper')).toBeUndefined();
    const undecided = compareTests({}, { conductivity: { value: 328, u: 3 } }, mains, defaultLimits(['steel']));
    expect(undecided.find((r) => r.item === 'conductivity')?.verdict).toBe('undecided');
    const noMains = compareTests({}, { conductivity: { value: 328, u: 3 } }, {}, defaultLimits(['steel']));
    expect(noMains.find((r) => r.item === 'conductivity')?.verdict).toBe('no-mains');
    const free = compareTests({}, { iron: { value: 1, u: 0.1 } }, {}, defaultLimits(['steel']));
    expect(free.find((r) => r.item === 'iron')?.verdict).toBe('no-limit');
  });

  it('names impossible readings and mains that are dirtier than the system', () => {
    const wrong = impossibleReadings({ ph: exact(15), turbidity: exact(Number.NaN), iron: exact(3) });
    expect(wrong.map(say)).toEqual([
      expect.stringContaining('Turbidity: found no number'),
      expect.stringContaining('pH: found 15, possible is 0 to 14.'),
    ]);
    expect(swappedItems({ conductivity: { value: 900, u: 9 } }, { conductivity: { value: 310, u: 3 } })).toEqual([
      'conductivity',
    ]);
    expect(swappedItems(mains, { conductivity: { value: 298, u: 3 } })).toEqual([]);
    expect(Object.keys(testItems)).toContain('copper');
  });
});
