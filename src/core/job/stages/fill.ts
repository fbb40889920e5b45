import { bandsOf, fillState } from '../../hydraulics/bands.ts';
import { type Check, need, type Look, type StageSpec, typedFigure, typedForm } from './stage.ts';

const pressureOf = (look: Look): number | null => look.live.now.pressureBar ?? typedFigure(look.job, 'fill-bar');

export const fillChecks: readonly Check[] = [
  { id: 'filled-from-empty', label: 'Filled from empty: the litres are the whole system' },
  { id: 'fill-through-rig', label: 'The filling water passes the rig\u2019s flow sensor' },
];

export const fill: StageSpec = {
  name: 'fill',
  steps: ({ job }) =>
    job.survey.system === 'open-vented'
      ? [
          'Let cold water in until the level stands where it did; vent the emitters from below upwards.',
          'Read the water meter before and after, where the water does not pass the rig.',
          'Shut the supply and take the filling hose off.',
        ]
      : [
          'Fill cold to about 1 bar; vent the emitters from below upwards, and top up.',
          'Read the water meter before and after, where the water does not pass the rig.',
          'Shut the filling loop and take it off.',
        ],
  cautions: ['filling-loop', 'backflow', 'pressure'],
  leaveAfter: ['filling-loop'],
  conditions: (look) => {
    const bands = bandsOf(look.job.survey.system);
    const { live, worked } = look;
    return [
      ...(bands.fillBar
        ? [
            {
              id: 'pressure',
              label: 'Pressure',
              value: pressureOf(look),
              kind: 'pressure' as const,
              least: bands.fillBar[0],
              most: bands.fillBar[1],
              note: `relief valve usually ${bands.reliefBar ?? 3} bar`,
            },
          ]
        : []),
      {
        id: 'filled',
        label: 'Filled',
        value: worked.filled?.value ?? null,
        u: worked.filled?.u ?? null,
        kind: 'volume',
        ...(worked.filled ? {} : { words: 'not measured' }),
      },
      {
        id: 'surveyed',
        label: 'Survey says',
        value: worked.surveyed?.value ?? null,
        u: worked.surveyed?.u ?? null,
        kind: 'volume',
        ...(worked.fill?.verdict === 'agree' ? { note: 'the fill agrees' } : {}),
      },
      ...(bands.fillBar && look.job.checks.includes('fill-through-rig')
        ? [
            {
              id: 'compliance',
              label: 'Takes, per bar',
              value: worked.compliance?.value ?? null,
              u: worked.compliance?.u ?? null,
              unit: 'l/bar',
              decimals: 1,
              ...(worked.compliance ? {} : { words: 'over the last 0.3 bar' }),
            },
          ]
        : []),
      { id: 'flow', label: 'Flow', value: live.now.flowLpm, kind: 'flow' },
    ];
  },
  checks: () => fillChecks,
  forms: ({ live, job }) => [
    typedForm(
      'fill-litres',
      { label: 'Filled', quantity: 'volume', least: 0, most: 100000, step: 5, start: 0 },
      'For water that does not pass the rig\u2019s flow sensor.',
    ),
    ...(live.seen.has('pressureBar') || job.survey.system === 'open-vented'
      ? []
      : [
          typedForm('fill-bar', {
            label: 'Pressure',
            quantity: 'pressure',
            least: 0,
            most: 6,
            step: 0.1,
            start: 1,
          }),
        ]),
  ],
  remarks: (look) => {
    const { worked, live, job } = look;
    const state = fillState(pressureOf(look), bandsOf(job.survey.system));
    return [
      ...(state === 'near-relief' ? [need('near-relief')] : []),
      ...(state === 'high' ? [need('fill-high')] : []),
      ...(live.seen.has('pressureBar') || job.survey.system === 'open-vented' ? [] : [need('no-pressure-sensor')]),
      ...(worked.fill && worked.fill.verdict !== 'agree'
        ? [need(worked.fill.verdict, { difference: Math.abs(worked.fill.difference) })]
        : []),
    ];
  },
  gate: (look) => {
    switch (fillState(pressureOf(look), bandsOf(look.job.survey.system))) {
      case 'not-measured':
        return [need('fill-unknown')];
      case 'low':
        return [need('fill-low')];
      case 'high':
      case 'near-relief':
        return [need('fill-high')];
      case 'inside':
      case 'not-applicable':
        return [];
    }
  },
};
