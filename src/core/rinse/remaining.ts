import type { Uncertain } from '../quantity/interval.ts';

export interface Remaining {
  /** Share of the dosed cleaner still in the water: 0 none, 1 all. Not cut to that span: noise shows as noise. */
  readonly share: Uncertain | null;
  /** `cleaner-hardly-conducts`: dosed and mains water differ by less than three standard uncertainties. */
  readonly verdict: 'measured' | 'cleaner-hardly-conducts';
}

/**
 * Remaining cleaner by mixing: k = x k_dosed + (1 - x) k_mains, all at one reference temperature and dilute, so
 * x = (k - k_mains) / (k_dosed - k_mains). Mass balance; first-order propagation with the three readings independent.
 * Conductivity that comes from something else than the cleaner counts as cleaner.
 */
export function remainingCleaner(sample: Uncertain, dosed: Uncertain, mains: Uncertain, leastSteps = 3): Remaining {
  const span = dosed.value - mains.value;
  if (!(span > leastSteps * Math.hypot(dosed.u, mains.u)) || span <= 0)
    return { share: null, verdict: 'cleaner-hardly-conducts' };
  const x = (sample.value - mains.value) / span;
  const u = Math.hypot(sample.u, (1 - x) * mains.u, x * dosed.u) / span;
  return { share: { value: x, u }, verdict: 'measured' };
}

/**
 * The share that hides under "within so much of the mains": at hard, salty mains the same rule lets more cleaner by.
 * 10 % at mains 600 and dosed 1800 uS/cm hides 5 %.
 */
export function shareAtMainsLimit(dosedUsCm: number, mainsUsCm: number, overMainsShare: number): number {
  return (overMainsShare * mainsUsCm) / (dosedUsCm - mainsUsCm);
}
