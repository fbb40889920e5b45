import type { RunRow } from '../../src/core/audit/page-schema.ts';
import { utcOf } from '../../src/core/audit/wall-time.ts';
import { fixedText } from '../shared/format.ts';

/** Run-clock seconds as hours, minutes and seconds. */
export function clock(timeS: number): string {
  const whole = Math.max(0, Math.round(timeS));
  const two = (n: number): string => String(n).padStart(2, '0');
  return `${Math.floor(whole / 3600)}:${two(Math.floor(whole / 60) % 60)}:${two(whole % 60)}`;
}

/** A length of time: `48 s`, `6 min`, `2 h 10 min`. */
export function length(seconds: number): string {
  if (seconds < 99.5) return `${Math.round(seconds)} s`;
  const minutes = Math.round(seconds / 60);
  if (minutes < 100) return `${minutes} min`;
  const rest = minutes % 60;
  return `${Math.floor(minutes / 60)} h${rest === 0 ? '' : ` ${rest} min`}`;
}

/** Day and time in UTC; what is no date is not known. */
export function moment(iso: string): string {
  return utcOf(iso).slice(0, 16).replace('T', ' ') || 'not known';
}

export const sealWords: Readonly<Record<RunRow['seal'], string>> = {
  intact: 'Intact',
  changed: 'Changed',
  missing: 'Not here',
  unsigned: 'Unsigned',
};

export const severityWords = { serious: 'Serious', warning: 'Warning', note: 'Note' } as const;

/** `1 serious`, `2 warnings`. */
export function countOf(severity: keyof typeof severityWords, n: number): string {
  return severity === 'serious' ? `${n} serious` : plural(n, severity);
}

export function plural(n: number, one: string, many = `${one}s`): string {
  return `${n} ${n === 1 ? one : many}`;
}

export function number(value: number | null, decimals: number, unit = ''): string {
  return value === null ? '–' : `${fixedText(value, decimals)}${unit === '' ? '' : ` ${unit}`}`;
}

export const stateWords: Readonly<Record<string, string>> = {
  clear: 'Clear',
  done: 'Done',
  settling: 'Still settling',
  carrying: 'Carrying dirt',
  watching: 'Watching',
  idle: 'Idle',
  'cannot-tell': 'Cannot tell',
  'not-clear': 'Not clear',
};

/** A figure with three digits that count; whole numbers as they are. */
export function short(value: number): string {
  const rounded = Math.abs(value) >= 100 ? Math.round(value) : Number(value.toPrecision(3));
  return String(rounded).replace('-', '−');
}
