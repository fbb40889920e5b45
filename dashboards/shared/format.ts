import { language } from './words/language.ts';

/** Figures as they are printed: rounded so that they do not flicker, always the same width class, with a true minus. */

/**
 * Turbidity in NTU, rounded by range: steps widely used for reporting turbidity (from memory, Standard Methods 2130 B).
 */
export function ntuText(ntu: number): string {
  if (ntu < 0.5) return decimalMark('< 0.5');
  const step = ntuStep(ntu);
  const rounded = Math.round(ntu / step) * step;
  return step < 1 ? decimalMark(rounded.toFixed(1)) : thousands(rounded);
}

/** Part of its full size at which a figure of over three characters (`1250`, `< 0.5`, `12 500`) leaves its unit room. */
export function figureScale(text: string): number {
  return [1, 1, 1, 1, 0.8, 0.76][text.length] ?? 0.58;
}

/** A figure with the decimal mark of the language chosen. */
export function decimalMark(text: string): string {
  return language.value === 'de' ? text.replace('.', ',') : text;
}

/** A cell of a table of the bridge's: where it is a figure, with the decimal mark of the language chosen. */
export function cellText(cell: string): string {
  return /^\d+\.\d+$/.test(cell) ? decimalMark(cell) : cell;
}

function ntuStep(ntu: number): number {
  if (ntu < 9.95) return 0.1;
  if (ntu < 40) return 1;
  if (ntu < 100) return 5;
  if (ntu < 400) return 10;
  return ntu < 1000 ? 50 : 100;
}

/** Digits in groups of three with a narrow space, as SI recommends for five digits and more. */
function thousands(value: number): string {
  const digits = String(Math.round(value));
  return digits.length < 5 ? digits : digits.replace(/\B(?=(\d{3})+$)/g, '\u202f');
}

export function fixedText(value: number, decimals: number): string {
  const text = value.toFixed(decimals);
  return decimalMark(Number(text) === 0 ? text.replace('-', '') : text.replace('-', '\u2212'));
}

/** Grams of an estimate: two figures at most. */
export function gramsText(grams: number): string {
  if (grams < 0.05) return '0';
  const step = 10 ** (Math.floor(Math.log10(grams)) - 1);
  return fixedText(Math.round(grams / step) * step, grams < 9.95 ? 1 : 0);
}

/** An age in words short enough for a line: `now`, `14 s`, `3 min`, `2 h`. */
export function ageText(ageS: number): string {
  if (ageS < 1.5) return 'now';
  if (ageS < 100) return `${Math.round(ageS)} s`;
  return ageS < 5400 ? `${Math.round(ageS / 60)} min` : `${Math.round(ageS / 3600)} h`;
}

/** Minutes and seconds from an origin, for a time axis: `4:30`, `−0:30`. */
export function clockText(seconds: number): string {
  const whole = Math.round(Math.abs(seconds));
  const sign = seconds < -0.5 ? '\u2212' : '';
  return `${sign}${Math.floor(whole / 60)}:${String(whole % 60).padStart(2, '0')}`;
}
