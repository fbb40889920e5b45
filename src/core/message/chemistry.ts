import type { Texts } from './texts.ts';

const n = (v: string | number | undefined, digits: number): string => Number(v ?? Number.NaN).toFixed(digits);

/** Sentences of water and chemistry, by code. */
export const chemistryTexts = {
  'mains-not-measured': () =>
    'The mains conductivity is nought or missing, so there is nothing to compare with. Measure the mains water, or type its reading.',
  'rate-no-number': (p) =>
    `"${p['found']}" is no label rate. Type a number over nought and its unit, one of ${p['units']}.`,
  'rate-unit-unknown': (p) => `The unit of the rate is not known (${p['found']}). Use one of ${p['units']}.`,
  'rate-wrong-kind': (p) => `"${p['found']}" is ${p['meant']}.`,
  'rate-implausible': (p) =>
    `${p['amount']} ${p['unit']} would be ${n(p['percent'], 3)} % of the system, which no label means (0.05 to 5 %).${
      p['meant'] ? ` Did you mean ${p['meant']}?` : ''
    } Read the unit on the label again.`,
  'dilution-step-small': (p) =>
    `The rise of conductivity in the ${p['where']} is ${n(p['step'], 0)} µS/cm, known to ${n(p['u'], 0)}: too little to measure a volume by. Take the volume from the fill or the survey.`,
  'dilution-no-dose': () => 'The dose and the jug need more than nought of the product. Type what was poured in.',
  'day-unreadable': (p) => `"${p['found']}" is no day. Write it as year-month-day, such as 2026-03-31.`,
  'mains-dirtier': (p) =>
    `The mains sample reads dirtier than the system (${p['items']}). Were the samples swapped? Measure again, or say why.`,
  'cleaner-hardly-conducts': () =>
    'This cleaner hardly changes the conductivity, so neither "mixed" nor "remaining" can be told from it. Contact time serves instead.',
} satisfies Texts;
