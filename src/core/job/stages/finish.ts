import { checkMonths, nextCheck } from '../../chemistry/next-check.ts';
import { bandsOf } from '../../hydraulics/bands.ts';
import { doseConditions, doseForm, overdoseNeed, overdosed } from './dose.ts';
import type { Outcome } from '../../quantity/refusal.ts';
import { rinseEndOf } from '../../rinse/end.ts';
import type { Job } from '../state.ts';
import {
  need,
  type Check,
  type Condition,
  type Form,
  type Look,
  type StageSpec,
  typedFigure,
  typedForm,
  unticked,
} from './stage.ts';
import { labelForm } from './survey.ts';

export const protectChecks: readonly Check[] = [
  { id: 'rig-off', label: 'Rig off, in-line filter refitted and clean' },
  { id: 'vented', label: 'Vented, pressure set' },
  { id: 'each-heats', label: 'Each emitter heats' },
];

const leftBy = { test: 'by the water test after', rinse: '', sensor: 'by the sensor' } as const;

/** One statement of the cleaner that is left: its share beside the most that the inhibitor stands, or why there is none. */
function cleanerLeft({ job, worked }: Look): Condition {
  const { left, tolerated } = worked;
  const row = { id: 'tolerance', label: 'Cleaner left, of its dose' };
  if (left.by === 'rinse') return { ...row, value: null, words: 'rinsed to mains level' };
  const { share } = left;
  if (share === null) return { ...row, value: null, words: 'not measured' };
  const typed = typedFigure(job, 'tolerated-percent') !== null;
  return {
    ...row,
    value: 100 * share.value,
    u: 100 * share.u,
    unit: '%',
    decimals: 0,
    most: 100 * tolerated,
    note: [leftBy[left.by], typed ? 'limit by the label' : 'limit is common practice, no source'].join('; '),
  };
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
      cleanerLeft(look),
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
    typedForm('inhibitor-strength', {
      label: 'Of the label\u2019s strength',
      unit: '%',
      least: 0,
      most: 1000,
      step: 10,
      start: 100,
    }),
    typedForm('tolerated-percent', {
      step: 5,
      start: Math.round(100 * look.worked.tolerated),
    }),
    weighedForm,
  ],
  warnings: (look) => overdosed(look, 'inhibitor'),
  remarks: ({ worked }) => [
    ...(worked.strength.inhibitor && worked.strength.inhibitor.value + 2 * worked.strength.inhibitor.u < 0.9
      ? [need('dose-short', { percent: 100 * worked.strength.inhibitor.value })]
      : []),
  ],
  gate: (look) => [
    ...overdoseNeed(look, 'inhibitor'),
    ...(look.worked.tolerance === 'too-much' ? [need('cleaner-left')] : []),
    ...unticked(look, protectChecks),
    ...(look.job.doses.some((d) => d.what === 'inhibitor') ? [] : [need('dose', { what: 'inhibitor' })]),
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

const rinseWords = {
  'at-mains': 'at mains level',
  briefly: 'under its limits, too briefly',
  'above-mains': 'above mains level',
  untold: 'not told',
} as const;

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
        value: job.emitters.filter((e) => e.openings > 0).length,
        unit: `of ${job.emitters.length}`,
        decimals: 0,
      },
      { id: 'skipped', label: 'Skipped', value: count('skipped'), unit: '', decimals: 0 },
      {
        id: 'rinse',
        label: 'Rinse',
        value: null,
        words: look.rinse ? rinseWords[rinseEndOf(look.rinse)] : 'not told',
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
    job.handedOver ? [] : [typedForm('check-months', { step: 1, start: checkMonths }), handOverForm],
  remarks: ({ job }) => (job.handedOver ? [need('handed-over')] : []),
  gate: ({ job }) => (job.handedOver ? [] : [need('signed')]),
};
