import { exact, over, times, type Uncertain } from '../quantity/interval.ts';
import { given, type Outcome, outOfRange } from '../quantity/refusal.ts';
import { checkRate, type LabelRate, shareOf } from './label-rate.ts';

/**
 * Litres of cleaner or inhibitor for a system: volume times label rate, with the volume's uncertainty. A rate for a
 * litre of system water, as labels have it: the product's own volume is not taken off.
 */
export function doseLitres(systemL: Uncertain, rate: LabelRate): Outcome<Uncertain> {
  const checked = checkRate(rate);
  if (!checked.ok) return checked;
  const refusal = outOfRange('system volume', systemL.value, 1, 100000, 'l');
  return refusal ? { ok: false, refusal } : given(times(systemL, exact(shareOf(rate))));
}

/**
 * Over so many times the label's dose it is no generous hand any more, but a slip of the comma or a second bottle. Twice
 * lies beyond what a volume that is 10 to 20 % off explains. Common practice, no source.
 */
export const overdoseShare = 2;

/** What the litres given so far make of the label's strength: 1 is what the label wants. */
export function strengthOf(addedL: Uncertain, systemL: Uncertain, rate: LabelRate): Outcome<Uncertain> {
  const wanted = doseLitres(systemL, rate);
  return wanted.ok ? given(over(addedL, wanted.value)) : wanted;
}
