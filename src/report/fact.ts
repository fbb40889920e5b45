import { utcOf } from '../core/audit/wall-time.ts';

/** One thing that the report says: its words, or why there are none. Never blank. */
export type Fact = { readonly said: string } | { readonly missing: string };

export const said = (text: string): Fact => ({ said: text });
/** @param because completes "not recorded: ..." */
export const missing = (because: string): Fact => ({ missing: because });

export function isSaid(fact: Fact): fact is { readonly said: string } {
  return 'said' in fact;
}

/** The words, with the reason in the place of what is not there. */
export function words(fact: Fact): string {
  return isSaid(fact) ? fact.said : `not recorded: ${fact.missing}`;
}

/** A figure with about three significant digits, two where it is small, and its unit. */
export function figure(value: number, unit: string): string {
  const size = Math.abs(value);
  const decimals = size >= 100 ? 0 : size >= 10 ? 1 : 2;
  const text = size < 0.1 ? String(Number(value.toPrecision(2))) : value.toFixed(decimals);
  return unit === '' ? text : `${text} ${unit}`;
}

/** Run-clock seconds as hours and minutes: `1:05 h`, `12 min`, `40 s`. */
export function duration(seconds: number): string {
  if (seconds < 90) return `${Math.round(seconds)} s`;
  const minutes = Math.round(seconds / 60);
  if (minutes < 60) return `${minutes} min`;
  return `${Math.floor(minutes / 60)}:${String(minutes % 60).padStart(2, '0')} h`;
}

/** A moment of the run: `0:07:05` from its start. */
export function moment(timeS: number): string {
  const s = Math.max(0, Math.round(timeS));
  const two = (n: number): string => String(n).padStart(2, '0');
  return `${Math.floor(s / 3600)}:${two(Math.floor(s / 60) % 60)}:${two(s % 60)}`;
}

/** `2026-01-02 03:04 UTC`, whatever zone it was told in; what is no such date comes back as it is. */
export function day(iso: string): string {
  const found = /^(\d{4}-\d{2}-\d{2})T(\d{2}:\d{2})/.exec(utcOf(iso));
  return found ? `${found[1]} ${found[2]} UTC` : iso;
}

/** `1 pass`, `2 passes`. */
export function count(n: number, one: string, many = `${one}s`): string {
  return `${n} ${n === 1 ? one : many}`;
}
