import { checkMonths, nextCheck } from '../../chemistry/next-check.ts';
import { bandsOf } from '../../hydraulics/bands.ts';
import { doseConditions, doseForm, overdosed } from './dose.ts';
import type { Outcome } from '../../quantity/refusal.ts';
import type { Job } from '../state.ts';
import { need, type Check, type Form, type Look, type StageSpec, typedFigure, typedForm, unticked } from './stage.ts';
import { labelForm } from './survey.ts';

const protectChecks: readonly Check[] = [
  { id: 'rig-off', label: 'Rig off, in-line filter refitted and clean' },
  { id: 'vented', label: 'Vented, pressure set' },
  { id: 'each-heats', label: 'Each emitter heats' },
];

const toleranceWords = {
  tolerated: 'small enough',
  'too-much': 'too much: rinse on',
  undecided: 'at the limit',
  'not-binding': 'rinsed to mains level',
  'not-measured': 'not measured',
} as const;

/** The share that is left, and what is allowed, with where that comes from. */
function toleranceNote({ job, worked }: Look): string {
  const { remaining, tolerated } = worked;
  const typed = typedFigure(job, 'tolerated-percent') !== null;
  const most = `at most ${(100 * tolerated).toFixed(0)} % of its dose: ${typed ? 'by the label' : 'common practice, no source'}`;
  const share = remaining?.share ?? null;
  if (share === null) return most;
  return `${(100 * share.value).toFixed(0)} \u00b1 ${(200 * share.u).toFixed(0)} % left; ${most}`;
}

export const protect: StageSpec = {
  name: 'protect',
  steps: ({ job }) => [
    'Take the rig off; refit and clean the in-line filter.',
    'Add the inhibitor at the rate of its label, and let it go round.',
    job.survey.system === 'open-vented'
      ? 'Uncap feed and vent; vent the emitters.'
      : 'Set the cold pressure, vent, set it again; filling loop off.',
    'Heat, and feel that each emitter gets hot. Check the strength with the label\u2019s own test.',
  ],
  cautions: ['chemicals', 'scald', 'licensed'],
  conditions: (look) => {
    const bands = bandsOf(look.job.survey.system);
    return [
      ...doseConditions(look, 'inhibitor'),
      {
        id: 'tolerance',
        label: 'Cleaner left in the water',
        value: null,
        words: toleranceWords[look.worked.tolerance],
        note: toleranceNote(look),
      },
      {
        id: 'strength',
        label: 'Strength by the label\u2019s test',
        value: typedFigure(look.job, 'inhibitor-strength'),
        unit: '%',
        decimals: 0,
        least: 90,
        most: null,
      },
      ...(bands.fillBar
        ? [
            {
              id: 'pressure',
              label: 'Pressure',
              value: look.live.now.pressureBar,
              kind: 'pressure' as const,
              least: bands.fillBar[0],
              most: bands.fillBar[1],
            },
          ]
        : []),
      { id: 'return', label: 'Return', value: look.live.now.returnC, kind: 'temperature' },
    ];
  },
  checks: () => protectChecks,
  forms: (look) => [
    ...(look.worked.rates.inhibitor ? [] : [labelForm('inhibitor')]),
    doseForm('inhibitor', look.worked.doses.inhibitor?.ok ? look.worked.doses.inhibitor.value : null),
    typedForm('inhibitor-strength', 'Strength by the label\u2019s test', {
      label: 'Of the label\u2019s strength',
      unit: '%',
      least: 0,
      most: 1000,
      step: 10,
      start: 100,
    }),
    typedForm('tolerated-percent', 'Cleaner that the inhibitor stands', {
      step: 5,
      start: Math.round(100 * look.worked.tolerated),
    }),
    weighedForm,
  ],
  remarks: ({ worked }) => [
    ...(worked.tolerance === 'too-much' ? [need('cleaner-left')] : []),
    ...(worked.strength.inhibitor && worked.strength.inhibitor.value + 2 * worked.strength.inhibitor.u < 0.9
      ? [need('dose-short', { percent: 100 * worked.strength.inhibitor.value })]
      : []),
  ],
  gate: (look) => [
    ...overdosed(look, 'inhibitor'),
    ...unticked(look, protectChecks),
    ...(look.job.doses.some((d) => d.what === 'inhibitor') ? [] : [need('dose', { what: 'inhibitor' })]),
    ...(look.worked.tolerance === 'too-much' ? [need('cleaner-left')] : []),
  ],
};

export const handOverForm: Form = {
  id: 'hand-over',
  title: 'Signed by',
  event: 'hand-over',
  fixed: {},
  fields: [
    { name: 'engineer', label: 'Engineer', kind: 'text' },
    { name: 'client', label: 'Client, or who took it over', kind: 'text', optional: true },
    { name: 'site', label: 'Place', kind: 'text', optional: true },
  ],
  submit: 'Sign and hand over',
};

/** Sludge from the chambers and the filter, by scale or by bucket. */
export const weighedForm: Form = {
  id: 'weighed',
  title: 'Sludge, weighed',
  event: 'weighed',
  fixed: {},
  fields: [
    { name: 'grams', label: 'Sludge', kind: 'number', unit: 'g', least: 1, most: 100000, decimals: 0 },
    { name: 'how', label: 'It was', kind: 'choice', choices: ['wet', 'dry'], start: 'wet' },
  ],
  submit: 'Keep',
};

/** The day of the next check, or why there is none. */
export function nextDue(job: Job, startedAt: string | undefined): Outcome<string> {
  return nextCheck(startedAt ?? '', typedFigure(job, 'check-months') ?? checkMonths);
}

export const handOver: StageSpec = {
  name: 'hand-over',
  steps: () => [
    'Open the report and go through its first page with the client.',
    'Leave the record and the label at the heat source.',
    'Sign: after that the record is sealed, and remarks stand beside it.',
  ],
  cautions: [],
  conditions: (look) => {
    const { job } = look;
    const months = typedFigure(job, 'check-months') ?? checkMonths;
    const due = nextDue(job, look.context.started_at);
    const count = (status: string): number => job.emitters.filter((e) => e.status === status).length;
    return [
      {
        id: 'worked',
        label: 'Emitters worked on',
        value: count('shut'),
        unit: `of ${job.emitters.length}`,
        decimals: 0,
      },
      { id: 'skipped', label: 'Skipped', value: count('skipped'), unit: '', decimals: 0 },
      {
        id: 'rinse',
        label: 'Rinse',
        value: null,
        words: look.rinse?.state === 'clear' ? 'at mains level' : 'not told',
      },
      { id: 'inhibitor', label: 'Inhibitor', value: look.worked.added.inhibitor, kind: 'volume', decimals: 2 },
      {
        id: 'due',
        label: 'Next check',
        value: null,
        words: due.ok ? due.value : `in ${months} months`,
        note: months === checkMonths ? 'yearly: common practice, no source' : '',
      },
      { id: 'photos', label: 'Photos', value: job.photos.length, unit: '', decimals: 0 },
    ];
  },
  forms: ({ job }) =>
    job.handedOver ? [] : [typedForm('check-months', 'Next check', { step: 1, start: checkMonths }), handOverForm],
  remarks: ({ job }) => (job.handedOver ? [need('handed-over')] : []),
  gate: ({ job }) => (job.handedOver ? [] : [need('signed')]),
};
