const daysBefore = [0, 31, 59, 90, 120, 151, 181, 212, 243, 273, 304, 334];

/** Days of an ISO date since 0001-01-01 by the Gregorian calendar; null: no date. */
export function dayNumber(iso: string): number | null {
  const found = /^(\d{4})-(\d{2})-(\d{2})/.exec(iso);
  if (!found) return null;
  const [year, month, day] = [Number(found[1]), Number(found[2]), Number(found[3])];
  const before = daysBefore[month - 1];
  if (before === undefined || year < 1 || day < 1 || day > 31) return null;
  const isLeap = year % 4 === 0 && (year % 100 !== 0 || year % 400 === 0);
  const whole = year - 1;
  const leaps = Math.floor(whole / 4) - Math.floor(whole / 100) + Math.floor(whole / 400);
  return 365 * whole + leaps + before + (day - 1) + (isLeap && month > 2 ? 1 : 0);
}

/** Seconds of an ISO 8601 time in UTC, for differences; null: no time. The core has no clock and needs none for this. */
export function secondsOfIso(iso: string): number | null {
  const day = dayNumber(iso);
  const time = /T(\d{2}):(\d{2}):(\d{2}(?:\.\d+)?)Z$/.exec(iso);
  if (day === null || !time) return null;
  return day * 86400 + Number(time[1]) * 3600 + Number(time[2]) * 60 + Number(time[3]);
}
