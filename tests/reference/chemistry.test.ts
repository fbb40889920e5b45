import { describe, expect, it } from 'vitest';
import { defaultLimits } from '../../src/core/chemistry/limits.ts';
import { compareTests } from '../../src/core/chemistry/water-test.ts';
import { exact } from '../../src/core/quantity/interval.ts';
import { remainingCleaner, shareAtMainsLimit } from '../../src/core/rinse/remaining.ts';

// Mass balance k = x k_dosed + (1 - x) k_mains, at equal temperature and dilute; figures worked by hand.
describe('remaining cleaner by mixing', () => {
  it('dosed 1800, mains 300, sample 330 µS/cm: 2.0 % remain, exactly on the 10 % line', () => {
    expect(remainingCleaner(exact(330), exact(1800), exact(300)).share?.value).toBeCloseTo(0.02, 12);
    expect(shareAtMainsLimit(1800, 300, 0.1)).toBeCloseTo(0.02, 12);
    const rows = compareTests({}, { conductivity: exact(330) }, { conductivity: exact(300) }, defaultLimits(['steel']));
    expect(rows.find((r) => r.item === 'conductivity')).toMatchObject({ most: 330, verdict: 'inside' });
  });

  it('at mains 600 the 10 % line hides 5.0 %', () => {
    expect(shareAtMainsLimit(1800, 600, 0.1)).toBeCloseTo(0.05, 12);
  });

  // JCGM 100:2008, 5.1.2: u of a quotient of independent readings, worked by hand:
  // u = sqrt(5^2 + (0.98 * 5)^2 + (0.02 * 10)^2) / 1500.
  it('readings known to 5, 5 and 10 µS/cm give the share to 0.47 %', () => {
    const r = remainingCleaner({ value: 330, u: 5 }, { value: 1800, u: 10 }, { value: 300, u: 5 });
    expect(r.share?.u).toBeCloseTo(0.004669, 6);
  });
});

// VDI 2035 as trade pages have it (its own text not read): pH 8.2 to 10.0, with aluminium to 9.0 (from memory).
describe('limits of pH', () => {
  it('8.2 to 10, with aluminium to 9', () => {
    const ph = (materials: Parameters<typeof defaultLimits>[0]) =>
      defaultLimits(materials).limits.find((l) => l.item === 'ph');
    expect(ph(['steel', 'copper'])).toMatchObject({ least: 8.2, most: 10 });
    expect(ph(['steel', 'aluminium'])).toMatchObject({ least: 8.2, most: 9 });
  });
});
