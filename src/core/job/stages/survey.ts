import { rateUnits } from '../../chemistry/label-rate.ts';
import { need, type Form, type StageSpec } from './stage.ts';
import type { Chemical } from './worked.ts';

/** Label rates are typed from the label, with its unit; nothing is known of any product. */
export function labelForm(what: Chemical): Form {
  return {
    id: `label-${what}`,
    title: `Label rate of the ${what}`,
    event: 'label',
    fixed: { what },
    fields: [
      { name: 'amount', label: 'Amount', kind: 'number', least: 0.001, most: 100, decimals: 2 },
      { name: 'unit', label: 'Unit', kind: 'choice', choices: rateUnits, start: 'l/100 l' },
      { name: 'batch', label: 'Batch', kind: 'text', optional: true },
    ],
    submit: 'Keep the rate',
  };
}

export const survey: StageSpec = {
  name: 'survey',
  steps: () => [
    'List every emitter: room, kind, size or litres, material.',
    'Add the pipe runs where you know bore and length, and what else holds water.',
    'Note what troubles the system, its age, and whether it is sealed or open-vented.',
    'Type the rate from the label of the cleaner.',
  ],
  cautions: ['licensed', 'asbestos'],
  conditions: ({ worked, job }) => [
    { id: 'emitters', label: 'Emitters', value: job.survey.emitters.length, unit: '', decimals: 0 },
    {
      id: 'volume',
      label: 'Water in the system',
      value: worked.surveyed?.value ?? null,
      u: worked.surveyed?.u ?? null,
      kind: 'volume',
    },
    {
      id: 'dose',
      label: 'Cleaner by the label',
      value: worked.doses.cleaner?.ok ? worked.doses.cleaner.value.value : null,
      u: worked.doses.cleaner?.ok ? worked.doses.cleaner.value.u : null,
      kind: 'volume',
      decimals: 2,
      ...(worked.doses.cleaner?.ok ? {} : { words: 'needs the label rate' }),
    },
  ],
  forms: () => [labelForm('cleaner')],
  remarks: ({ worked, job }) => [
    ...(worked.surveyProblem ? [worked.surveyProblem] : []),
    ...(worked.softMallet.length > 0
      ? [
          need('soft-mallet', {
            emitters: worked.softMallet
              .map((id) => job.survey.emitters.find((e) => e.id === id)?.name ?? id)
              .join(', '),
          }),
        ]
      : []),
  ],
  gate: ({ worked, job }) => {
    if (job.survey.emitters.length === 0) return [need('survey-emitter')];
    return [
      ...(worked.surveyed ? [] : [need('survey-volume')]),
      ...(worked.rates.cleaner ? [] : [need('rate', { what: 'cleaner' })]),
    ];
  },
};
