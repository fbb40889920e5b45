import { logGamma } from '../quantity/special.ts';

/**
 * Factors of control charts for samples of n Gaussian values, n = 2 to 10: d2 and d3 are mean and standard deviation of
 * their range in standard deviations; A2, D3 and D4 set the limits of means and ranges. As printed in the tables of the
 * NIST/SEMATECH e-Handbook of Statistical Methods, 6.3.2.1, and in ASTM's and the textbooks' tables, which agree to a
 * unit of the last place.
 */
interface RangeFactors {
  readonly d2: number;
  readonly d3: number;
  readonly a2: number;
  readonly lower: number;
  readonly upper: number;
}

const row = (d2: number, d3: number, a2: number, lower: number, upper: number): RangeFactors => ({
  d2,
  d3,
  a2,
  lower,
  upper,
});

const table: readonly RangeFactors[] = [
  row(1.128, 0.853, 1.88, 0, 3.267),
  row(1.693, 0.888, 1.023, 0, 2.575),
  row(2.059, 0.88, 0.729, 0, 2.282),
  row(2.326, 0.864, 0.577, 0, 2.115),
  row(2.534, 0.848, 0.483, 0, 2.004),
  row(2.704, 0.833, 0.419, 0.076, 1.924),
  row(2.847, 0.82, 0.373, 0.136, 1.864),
  row(2.97, 0.808, 0.337, 0.184, 1.816),
  row(3.078, 0.797, 0.308, 0.223, 1.777),
];

/** Largest sample for which a range still says enough of its spread, and the last of the table. */
export const mostInRange = table.length + 1;

/** Throws a RangeError outside n = 2 to 10. */
export function rangeFactors(n: number): RangeFactors {
  const found = table[n - 2];
  if (!found) throw new RangeError(`range factors are for samples of 2 to ${mostInRange} values; got ${n}`);
  return found;
}

/** Mean of the standard deviation (with n - 1) of n Gaussian values, in true ones: sqrt(2/(n-1)) G(n/2) / G((n-1)/2). */
export function c4(n: number): number {
  if (!(n >= 2)) throw new RangeError(`a standard deviation takes 2 values at least; got ${n}`);
  return Math.sqrt(2 / (n - 1)) * Math.exp(logGamma(n / 2) - logGamma((n - 1) / 2));
}

/** Limits of a chart of standard deviations about its centre: B3 and B4. */
export function sdFactors(n: number): { readonly a3: number; readonly lower: number; readonly upper: number } {
  const c = c4(n);
  const half = (3 / c) * Math.sqrt(1 - c * c);
  return { a3: 3 / (c * Math.sqrt(n)), lower: Math.max(0, 1 - half), upper: 1 + half };
}
