const daysBefore = [0, 31, 59, 90, 120, 151, 181, 212, 243, 273, 304, 334];

/** Days of an ISO date since 0001-01-01 by the Gregorian calendar; null: no date. */
export function dayNumber(iso: string): number | null {
  const found = /^(\d{4})-(\d{2})-(\d{2})/.exec(iso);
  if (!found) return null;
  const [year, month, day] = [Number(found[1]), Number(found[2]), Number(found[3])];
  const before = daysBefore[month - 1];
  if (before === undefined || year < 1 || day < 1) return null;
  const isLeap = year % 4 === 0 && (year % 100 !== 0 || year % 400 === 0);
  const days = (daysBefore[month] ?? 365) - before + (isLeap && month === 2 ? 1 : 0);
  if (day > days) return null;
  const whole = year - 1;
  const leaps = Math.floor(whole / 4) - Math.floor(whole / 100) + Math.floor(whole / 400);
  return 365 * whole + leaps + before + (day - 1) + (isLeap && month > 2 ? 1 : 0);
}

/**
 * Seconds of an ISO 8601 time in UTC, for differences; null: no time. Without a zone it is taken as UTC. The core has no
 * clock and needs none for this.
 */
export function secondsOfIso(iso: string): number | null {
  const day = dayNumber(iso);
  const found = /^.{10}T(\d{2}):(\d{2})(?::(\d{2}(?:\.\d+)?))?(?:Z|([+-])(\d{2}):?(\d{2}))?$/.exec(iso);
  if (day === null || !found) return null;
  const [hours, minutes, seconds] = [Number(found[1]), Number(found[2]), Number(found[3] ?? 0)];
  const [zoneHours, zoneMinutes] = [Number(found[5] ?? 0), Number(found[6] ?? 0)];
  if (hours > 23 || minutes > 59 || seconds >= 61 || zoneHours > 23 || zoneMinutes > 59) return null;
  const aheadS = (found[4] === '-' ? -1 : 1) * (zoneHours * 3600 + zoneMinutes * 60);
  return day * 86400 + hours * 3600 + minutes * 60 + seconds - aheadS;
}

/** The same moment in UTC, so that texts compare as their moments do; a day alone stays one. Empty: no date. */
export function utcOf(iso: string): string {
  if (/^.{10}$/.test(iso)) return dayNumber(iso) === null ? '' : iso;
  const seconds = secondsOfIso(iso);
  if (seconds === null) return '';
  if (iso.endsWith('Z')) return iso;
  const days = Math.floor(seconds / 86400);
  const rest = Math.floor(seconds - days * 86400);
  const time = [Math.floor(rest / 3600), Math.floor(rest / 60) % 60, rest % 60].map((n) => digits(n, 2));
  return `${dateOf(days)}T${time.join(':')}Z`;
}

/** The day of that number: the inverse of `dayNumber`. */
function dateOf(days: number): string {
  let year = Math.floor(days / 365.2425) + 1;
  while (days < firstOf(year)) year -= 1;
  while (days >= firstOf(year + 1)) year += 1;
  let month = 12;
  const first = (): number => dayNumber(`${digits(year, 4)}-${digits(month, 2)}-01`) ?? 0;
  while (month > 1 && days < first()) month -= 1;
  return `${digits(year, 4)}-${digits(month, 2)}-${digits(days - first() + 1, 2)}`;
}

const firstOf = (year: number): number => dayNumber(`${digits(year, 4)}-01-01`) ?? 0;
const digits = (n: number, size: number): string => String(n).padStart(size, '0');
