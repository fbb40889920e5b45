import { given, type Outcome, outOfRange, refused } from '../quantity/refusal.ts';

/** Months until the water is tested again: yearly, as trade summaries agree; no institute page read says it. */
export const checkMonths = 12;

/**
 * The day so many months after an ISO 8601 day, in the Gregorian calendar; a month that is too short gives its last
 * day. Pure: no clock, no time zone.
 */
export function nextCheck(isoDay: string, months: number = checkMonths): Outcome<string> {
  const match = /^(\d{4})-(\d{2})-(\d{2})(?:T|$)/.exec(isoDay);
  const year = Number(match?.[1]);
  const month = Number(match?.[2]);
  const day = Number(match?.[3]);
  if (!match || month < 1 || month > 12 || day < 1 || day > daysIn(year, month))
    return refused('day-unreadable', { found: isoDay });
  const refusal = outOfRange('months to the next check', months, 1, 120, 'months');
  if (refusal) return { ok: false, refusal };
  const count = year * 12 + (month - 1) + Math.round(months);
  const y = Math.floor(count / 12);
  const m = (count % 12) + 1;
  const two = (n: number): string => String(n).padStart(2, '0');
  return given(`${String(y).padStart(4, '0')}-${two(m)}-${two(Math.min(day, daysIn(y, m)))}`);
}

function daysIn(year: number, month: number): number {
  if (month === 2) return year % 4 === 0 && (year % 100 !== 0 || year % 400 === 0) ? 29 : 28;
  return [4, 6, 9, 11].includes(month) ? 30 : 31;
}
