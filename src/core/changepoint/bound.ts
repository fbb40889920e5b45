import { cusumArl, cusumThreshold } from './arl.ts';

/**
 * Least mean delay any detector can have, in samples counting the first changed one, for a one-sided shift of `shift`
 * standard deviations between known Gaussian laws, at a mean of `arl` samples between false alarms. Among all rules
 * with that false-alarm rate the CUSUM on the log likelihood ratio, allowance shift / 2, has the least worst-case delay
 * (Lorden 1971, Moustakides 1986), and its worst case is a sum of nought at the change; so this is its own delay.
 */
export function leastDelay(arl: number, shift: number): number {
  if (!(shift > 0)) throw new RangeError(`The least delay is for a shift over 0 standard deviations; got ${shift}.`);
  const k = shift / 2;
  return cusumArl(k, cusumThreshold(arl, k, 'one'), shift);
}

/** Kullback-Leibler divergence of N(m1, s1^2) from N(m0, s0^2), in nats a sample: news that one sample brings. */
export function gaussianDivergence(m1: number, s1: number, m0: number, s0: number): number {
  return Math.log(s0 / s1) + (s1 * s1 + (m1 - m0) ** 2) / (2 * s0 * s0) - 0.5;
}

/** First-order law: ln(arl) over the divergence. Not a bound at finite run lengths; `leastDelay` is. */
export function firstOrderDelay(arl: number, shift: number): number {
  return Math.log(arl) / (0.5 * shift * shift);
}
