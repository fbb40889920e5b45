import { given, type Outcome, refused } from '../quantity/refusal.ts';

/** Units in which a label may state a rate, as litres of product for a litre of system water. */
const perLitre = { 'ml/l': 1e-3, 'l/100 l': 1e-2, 'l/m³': 1e-3, '%': 1e-2 } as const;
export type RateUnit = keyof typeof perLitre;
export const rateUnits = Object.keys(perLitre).filter((u): u is RateUnit => u in perLitre);

export interface LabelRate {
  readonly amount: number;
  readonly unit: RateUnit;
}

/**
 * Rates that a label can mean, litres for a litre: 0.05 % to 5 %. Common practice, no source. Outside it the unit is
 * most likely the wrong one, for the figures differ by powers of ten.
 */
export const plausible: readonly [number, number] = [0.0005, 0.05];

const spellings: Readonly<Record<string, RateUnit>> = {
  'ml/l': 'ml/l',
  mlperl: 'ml/l',
  mlperlitre: 'ml/l',
  'l/m3': 'l/m³',
  'l/m³': 'l/m³',
  lperm3: 'l/m³',
  'l/100l': 'l/100 l',
  lper100l: 'l/100 l',
  litreper100litres: 'l/100 l',
  '%': '%',
  percent: '%',
};

/** Units that a label may carry but that are no volume for a volume, with what is meant instead. */
const otherUnits: Readonly<Record<string, string>> = {
  'g/l': 'a weight: look for the volume rate on the label, in ml/l',
  'kg/l': 'a weight: look for the volume rate on the label, in ml/l',
  'mg/l': 'a concentration for a strength test, no dose: look for ml/l',
  ppm: 'a concentration for a strength test, no dose: look for ml/l',
  ml: 'an amount without its water: give it for a volume, as ml/l',
  l: 'an amount without its water: give it for a volume, as l/100 l',
};

/** A rate as typed: "5 ml/l", "1 l/100 l", "0,5 %". */
export function parseRate(text: string): Outcome<LabelRate> {
  const match = /^\s*([0-9]+(?:[.,][0-9]+)?)\s*(.*)$/.exec(text);
  if (!match) return refused('rate-no-number', { found: text, units: rateUnits.join(', ') });
  const amount = Number((match[1] ?? '').replace(',', '.'));
  const typed = (match[2] ?? '').replaceAll(/\s/g, '').toLowerCase();
  const unit = spellings[typed];
  if (unit) return checkRate({ amount, unit });
  const meant = otherUnits[typed];
  if (meant) return refused('rate-wrong-kind', { found: text.trim(), meant });
  return refused('rate-unit-unknown', { found: typed || 'no unit', units: rateUnits.join(', ') });
}

/** A rate with its unit; one that no label means is refused with the unit in which the figure would make sense. */
export function checkRate(rate: LabelRate): Outcome<LabelRate> {
  if (!(rate.amount > 0)) return refused('rate-no-number', { found: String(rate.amount), units: rateUnits.join(', ') });
  const isPlausible = (unit: RateUnit): boolean => {
    const share = rate.amount * perLitre[unit];
    // The least of rounding must not put the edge itself outside.
    return share >= plausible[0] * (1 - 1e-9) && share <= plausible[1] * (1 + 1e-9);
  };
  if (isPlausible(rate.unit)) return given(rate);
  const better = rateUnits.filter(isPlausible);
  return refused('rate-implausible', {
    amount: rate.amount,
    unit: rate.unit,
    percent: 100 * shareOf(rate),
    meant: better.map((u) => `${rate.amount} ${u}`).join(' or '),
  });
}

/** Litres of product for a litre of system water. */
export function shareOf(rate: LabelRate): number {
  return rate.amount * perLitre[rate.unit];
}
