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
