import { signal } from '@preact/signals';
import { keep, kept } from './keep.ts';

/**
 * How many CSS pixels make a millimetre on this screen. A browser does not know it; whoever holds the tablet lays a bank
 * card on a box once and makes the box as wide as the card. Figures and buttons then have their size in true millimetres.
 */
const key = 'limpid-px-per-mm';
/** 160 pixels to the inch: a usual 10-inch tablet. */
export const usualPxPerMm = 6.3;
/** Wider than screens are made, narrower than the page can follow. */
const least = 4.4;
const most = 7.2;
/** A bank card is 85.60 mm wide (ISO/IEC 7810, ID-1; from memory). */
export const cardMm = { width: 85.6, height: 53.98 } as const;

export function clampPxPerMm(value: number): number {
  return Number.isFinite(value) ? Math.min(most, Math.max(least, value)) : usualPxPerMm;
}

export const pxPerMm = signal(clampPxPerMm(Number(kept(key) ?? usualPxPerMm)));

export function setPxPerMm(value: number): void {
  pxPerMm.value = clampPxPerMm(Math.round(value * 1000) / 1000);
  keep(key, pxPerMm.value === usualPxPerMm ? null : String(pxPerMm.value));
  showTrueSize();
}

/** The style sheets reckon with it as `--mm`. */
export function showTrueSize(): void {
  document.documentElement.style.setProperty('--mm', `${pxPerMm.value}px`);
  dispatchEvent(new Event('resize'));
}
