import { halfFillOf } from '../half-fill.ts';
import { surveyFigures } from '../survey-rows.ts';
import { exact } from '../../quantity/interval.ts';
import { need, type Check, type StageSpec, type Table, type Look, typedFigure, typedForm, unticked } from './stage.ts';

export const halfFillChecks: readonly Check[] = [{ id: 'half-filled', label: 'Every emitter dropped to about half' }];

function table({ job }: Look): Table | null {
  const { result } = surveyFigures(job.survey);
  if (!result) return null;
  return {
    title: 'Litres to drop',
    // Units stand with their figures: a page in other units turns both.
    head: ['Emitter', 'Holds', 'Drop', ''],
    rows: result.emitters.map((e) => {
      const { toDropL } = halfFillOf(e.content.litres, null);
      return [
        job.survey.emitters.find((s) => s.id === e.id)?.name ?? e.id,
        `${e.content.litres.value.toFixed(1)} \u00b1 ${(2 * e.content.litres.u).toFixed(1)} l`,
        `${toDropL.value.toFixed(1)} l`,
        result.softMallet.includes(e.id) ? 'soft mallet only' : '',
      ];
    }),
  };
}

export const halfFill: StageSpec = {
  name: 'half-fill',
  steps: () => [
    'Pump off. Drop each emitter to about half full, so that shaking moves the sludge.',
    'Catch the water by bucket and scale where you want to know the litres.',
    'Shut the emitters, pump on, and begin with the first of the order.',
  ],
  cautions: ['scald', 'brittle', 'vibration'],
  conditions: ({ job, worked }) => {
    const dropped = typedFigure(job, 'dropped-litres');
    const { result } = surveyFigures(job.survey);
    const allL = result?.emitters.reduce((sum, e) => sum + e.content.litres.value, 0) ?? null;
    const half = allL === null ? null : halfFillOf(exact(allL), dropped === null ? null : exact(dropped));
    return [
      { id: 'to-drop', label: 'To drop in all', value: half?.toDropL.value ?? null, kind: 'volume' },
      {
        id: 'dropped',
        label: 'Dropped',
        value: dropped,
        kind: 'volume',
        ...(dropped === null ? { words: 'not measured' } : {}),
      },
      { id: 'mallet', label: 'Soft mallet', value: worked.softMallet.length, unit: 'emitters', decimals: 0 },
    ];
  },
  checks: () => halfFillChecks,
  forms: () => [
    typedForm('dropped-litres', {
      label: 'All emitters',
      quantity: 'volume',
      least: 0,
      most: 100000,
      step: 1,
      start: 0,
    }),
  ],
  table,
  remarks: () => [need('half-practice')],
  gate: (look) => unticked(look, halfFillChecks),
};
