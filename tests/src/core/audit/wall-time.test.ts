import { describe, expect, it } from 'vitest';
import { moment } from '../../../../dashboards/audit/words.ts';
import { dayNumber, utcOf } from '../../../../src/core/audit/wall-time.ts';
import { day } from '../../../../src/report/fact.ts';

describe('a time that is told with its zone', () => {
  it('is the same moment in UTC, over the ends of day, month and year', () => {
    expect(utcOf('2026-06-30T23:30:00-05:00')).toBe('2026-07-01T04:30:00Z');
    expect(utcOf('2026-01-01T00:15:00+05:30')).toBe('2025-12-31T18:45:00Z');
    expect(utcOf('2024-02-29T23:00:00-0100')).toBe('2024-03-01T00:00:00Z');
    expect(utcOf('2026-03-04T08:05:00.000Z')).toBe('2026-03-04T08:05:00.000Z');
    expect(utcOf('2026-03-04')).toBe('2026-03-04');
  });

  it('is the one that the platform reckons, on every day of a leap cycle', () => {
    for (let n = 0; n < 1500; n += 7) {
      const ms = Date.UTC(2023, 0, 1 + n, 2, 3, 4);
      const local = new Date(ms + 9 * 3_600_000).toISOString().replace('.000Z', '+09:00');
      expect(utcOf(local)).toBe(new Date(ms).toISOString().replace('.000Z', 'Z'));
    }
  });

  it('is no date where it names none', () => {
    const none = ['', 'gestern', '2026-13-01T00:00:00Z', '2026-02-29T00:00:00Z', '2026-04-31', '2026-04-01T25:00Z'];
    expect(none.filter((text) => utcOf(text) !== '')).toEqual([]);
    expect(dayNumber('2028-02-29')).not.toBeNull();
  });

  it('is shown in UTC by the report and by the audit page', () => {
    expect(day('2026-06-30T23:30:00-05:00')).toBe('2026-07-01 04:30 UTC');
    expect(moment('2026-06-30T23:30:00-05:00')).toBe('2026-07-01 04:30');
    expect(moment('gestern')).toBe('not known');
  });
});
