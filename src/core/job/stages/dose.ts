import { overdoseShare } from '../../chemistry/dose.ts';
import type { Message } from '../../message/message.ts';
import type { Uncertain } from '../../quantity/interval.ts';
import {
  clockRemarks,
  need,
  type Condition,
  type Form,
  type Look,
  type StageSpec,
  typedFigure,
  typedForm,
} from './stage.ts';
import { labelForm } from './survey.ts';
import type { Chemical } from './worked.ts';

/** Contact time where mixing cannot be told, minutes: common practice, no source; the label goes before it. */
export const contactMin = 20;

export function doseForm(what: Chemical, wanted: Uncertain | null): Form {
  return {
    id: `dose-${what}`,
    title: `Litres of ${what} added`,
    event: 'dose',
    fixed: { what },
    fields: [
      {
        name: 'litres',
        label: 'Added now',
        kind: 'number',
        quantity: 'volume',
        least: 0.01,
        most: 1000,
        step: 0.1,
        decimals: 2,
        start: wanted ? Math.round(wanted.value * 10) / 10 : 1,
      },
    ],
    submit: 'Added',
    about: 'Each addition is kept; they add up.',
  };
}

/** Far more went in than the label wants: what to do, said where it went in and when it is to be rinsed out. */
export function overdosed({ worked }: Look, what: Chemical): readonly Message[] {
  const strength = worked.strength[what]?.value ?? 0;
  return strength > overdoseShare ? [need(`overdose-${what}`, { percent: 100 * strength })] : [];
}

/** The same in short, among what is missing before the next stage. */
export function overdoseNeed(look: Look, what: Chemical): readonly Message[] {
  return overdosed(look, what).map(({ params }) => need('overdose', { what, ...params }));
}

export function doseConditions(look: Look, what: Chemical): Condition[] {
  const { worked } = look;
  const wanted = worked.doses[what];
  return [
    {
      id: `wanted-${what}`,
      label: 'Wanted by the label',
      value: wanted?.ok ? wanted.value.value : null,
      u: wanted?.ok ? wanted.value.u : null,
      kind: 'volume',
      decimals: 2,
      ...(wanted ? {} : { words: 'needs the label rate' }),
    },
    {
      id: `added-${what}`,
      label: 'Added so far',
      value: worked.added[what],
      kind: 'volume',
      decimals: 2,
      ...(wanted?.ok && overdosed(look, what).length > 0
        ? { most: overdoseShare * wanted.value.value, note: 'twice the label' }
        : {}),
    },
  ];
}

/** The volume of the system a second time: by how far the dose was thinned. */
function dilution({ live, worked }: Look): Condition[] {
  if (!live.seen.has('conductivityUsCm')) return [];
  const { diluted, surveyed } = worked;
  const value = diluted?.ok ? diluted.value : null;
  return [
    {
      id: 'diluted',
      label: 'System volume by the dose',
      value: value?.value ?? null,
      u: value?.u ?? null,
      kind: 'volume',
      ...(value ? {} : { words: diluted ? 'step too small' : 'needs a jug test, mixed' }),
      ...(value && surveyed ? { note: `survey says ${surveyed.value.toFixed(0)} l` } : {}),
    },
  ];
}

const mixingWords = {
  waiting: 'going round',
  mixing: 'not even yet',
  mixed: 'mixed',
  undecided: 'cannot be told',
} as const;

const contactWanted = (look: Look): number => typedFigure(look.job, 'contact-min') ?? contactMin;

/** True while conductivity cannot say whether it is mixed: contact time has to serve. */
function byContact({ live, worked }: Look): boolean {
  return !live.seen.has('conductivityUsCm') || live.beforeDose === null || worked.mixing?.state === 'undecided';
}

function notMixed(look: Look): readonly Message[] {
  if (!byContact(look)) return look.worked.mixing?.state === 'mixed' ? [] : [need('mixed')];
  const left = contactWanted(look) - (look.live.contact?.countedS ?? 0) / 60;
  return left > 0 ? [need('contact', { minutes: Math.ceil(left) })] : [];
}

export const dose: StageSpec = {
  name: 'dose',
  steps: () => [
    'Read the label and its safety sheet; gloves and goggles on.',
    'Pump on, all emitters open. Add the cleaner through the rig\u2019s chamber.',
    'Type the litres as soon as they are in: mixing is told from there.',
    'Wait until it says mixed.',
  ],
  cautions: ['chemicals'],
  conditions: (look) => {
    const { live, worked } = look;
    return [
      ...doseConditions(look, 'cleaner'),
      {
        id: 'conductivity',
        label: 'Conductivity at 25 \u00b0C',
        value: live.now.conductivityUsCm,
        unit: '\u00b5S/cm',
        decimals: 0,
        ...(worked.mixing?.step
          ? {
              note: `${worked.mixing.step.value >= 0 ? 'up' : 'down'} ${Math.abs(worked.mixing.step.value).toFixed(0)} since the dose`,
            }
          : {}),
      },
      {
        id: 'mixed',
        label: 'Mixing',
        value: null,
        words: worked.mixing ? mixingWords[worked.mixing.state] : 'waits for the dose',
      },
      {
        id: 'contact',
        label: 'Contact time',
        value: live.contact ? live.contact.countedS / 60 : null,
        unit: 'min',
        decimals: 0,
        ...(live.contact ? {} : { words: 'runs from the dose on' }),
        ...(byContact(look) && live.contact ? { note: `of ${contactWanted(look)}` } : {}),
      },
      ...dilution(look),
      { id: 'flow', label: 'Flow', value: live.now.flowLpm, kind: 'flow' },
    ];
  },
  forms: (look) => [
    ...(look.worked.rates.cleaner ? [] : [labelForm('cleaner')]),
    doseForm('cleaner', look.worked.doses.cleaner?.ok ? look.worked.doses.cleaner.value : null),
    ...(look.live.seen.has('conductivityUsCm') && look.worked.rates.cleaner
      ? [
          typedForm(
            'jug-us-cm',
            { step: 10, decimals: 0, start: 200 },
            'Stir the label\u2019s dose for one litre into a litre of the same water: by how much does its conductivity rise? The volume of the system follows.',
          ),
        ]
      : []),
    ...(byContact(look)
      ? [
          typedForm('contact-min', {
            label: 'Minutes',
            unit: 'min',
            least: 1,
            most: 1440,
            step: 5,
            start: contactMin,
          }),
        ]
      : []),
  ],
  warnings: (look) => overdosed(look, 'cleaner'),
  remarks: (look) => {
    const { live, worked } = look;
    const { cleaner } = worked.strength;
    return [
      ...(live.seen.has('conductivityUsCm') ? [] : [need('no-conductivity-sensor')]),
      ...(worked.mixing?.state === 'undecided' ? [need('hardly-conducts')] : []),
      ...(worked.added.cleaner > 0 && live.beforeDose === null && live.seen.has('conductivityUsCm')
        ? [need('dose-not-seen')]
        : []),
      ...(cleaner && cleaner.value + 2 * cleaner.u < 0.9 ? [need('dose-short', { percent: 100 * cleaner.value })] : []),
      ...(cleaner && cleaner.value - 2 * cleaner.u > 1.5 && cleaner.value <= overdoseShare
        ? [need('dose-over', { percent: 100 * cleaner.value })]
        : []),
      ...(live.contact && !live.contact.isRunning ? clockRemarks(live.contact) : []),
    ];
  },
  gate: (look) => {
    if (!look.job.doses.some((d) => d.what === 'cleaner')) return [need('dose', { what: 'cleaner' })];
    return [...overdoseNeed(look, 'cleaner'), ...notMixed(look)];
  },
};
