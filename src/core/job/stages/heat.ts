import { secondsToTarget } from '../clocks.ts';
import { bandsOf } from '../../hydraulics/bands.ts';
import {
  clockRemarks,
  need,
  type Check,
  type Look,
  type StageSpec,
  typedFigure,
  typedForm,
  unticked,
} from './stage.ts';

/** Return temperature at which the emitters' lower edges are warm, degrees; circulation, minutes: common practice. */
export const warmC = 40;
export const circulateMin = 20;

const returnOf = (look: Look): number | null => look.live.now.returnC ?? typedFigure(look.job, 'return-c');
const targetOf = (look: Look): number => typedFigure(look.job, 'warm-target-c') ?? warmC;
const minutesOf = (look: Look): number => typedFigure(look.job, 'circulate-min') ?? circulateMin;

const returnForm = () =>
  typedForm('return-c', {
    label: 'Return',
    quantity: 'temperature',
    least: 0,
    most: 110,
    step: 1,
    start: 35,
  });

export const warm: StageSpec = {
  name: 'warm',
  steps: () => [
    'Run the heat source gently, pump on, all emitters open.',
    'Feel the lower edge of the furthest emitter: go on when it is warm.',
    'Keep under the limit of the hoses.',
  ],
  cautions: ['scald', 'licensed'],
  conditions: (look) => {
    const { live } = look;
    const now = returnOf(look);
    const left =
      now === null || live.riseKPerMin === null ? null : secondsToTarget(now, targetOf(look), live.riseKPerMin);
    return [
      {
        id: 'return',
        label: 'Return',
        value: now,
        kind: 'temperature',
        least: targetOf(look),
        most: bandsOf(look.job.survey.system).handAlarmC,
      },
      { id: 'supply', label: 'Supply', value: live.now.supplyC, kind: 'temperature' },
      { id: 'rise', label: 'Rise', value: live.riseKPerMin, kind: 'temperature', perMin: true, decimals: 1 },
      {
        id: 'left',
        label: 'Time to target',
        value: left === null ? null : left / 60,
        unit: 'min',
        decimals: 0,
        ...(left === null ? { words: 'not rising' } : {}),
      },
    ];
  },
  forms: (look) => [
    ...(look.live.seen.has('returnC') ? [] : [returnForm()]),
    typedForm('warm-target-c', {
      label: 'Return',
      quantity: 'temperature',
      least: 20,
      most: 80,
      step: 1,
      start: targetOf(look),
    }),
  ],
  remarks: (look) => [
    ...(look.live.seen.has('returnC') ? [] : [need('no-return-sensor')]),
    ...((returnOf(look) ?? 0) >= bandsOf(look.job.survey.system).handWarnC
      ? [need('hot', { celsius: returnOf(look) ?? 0 })]
      : []),
  ],
  gate: (look) => {
    const now = returnOf(look);
    return now !== null && now >= targetOf(look) ? [] : [need('warm', { target: targetOf(look) })];
  },
};

export const circulateChecks: readonly Check[] = [
  { id: 'emitters-full', label: 'Emitters full again and vented' },
  { id: 'all-open', label: 'All emitters open' },
];

export const circulate: StageSpec = {
  name: 'circulate',
  steps: (look) => [
    'Fill the emitters full and vent them; top the pressure up.',
    'All open, heat high, pump on.',
    `Let it go round for ${minutesOf(look)} minutes: the clock counts only while flow and temperature are in their bands.`,
    'Then heat source off; read the two cautions of the rinse below.',
  ],
  cautions: ['scald', 'pressure', 'isolation', 'foul-drain'],
  conditions: (look) => {
    const { live } = look;
    const bands = bandsOf(look.job.survey.system);
    return [
      {
        id: 'clock',
        label: 'Counted',
        value: live.circulated ? live.circulated.countedS / 60 : null,
        unit: 'min',
        decimals: 0,
        note: `of ${minutesOf(look)}; ${live.circulated?.isRunning ? 'running' : 'stands'}`,
      },
      { id: 'flow', label: 'Flow', value: live.now.flowLpm, kind: 'flow', least: bands.circulateLpm },
      {
        id: 'return',
        label: 'Return',
        value: live.now.returnC,
        kind: 'temperature',
        least: bands.circulateC[0],
        most: bands.circulateC[1],
      },
      ...(bands.fillBar
        ? [
            {
              id: 'pressure',
              label: 'Pressure',
              value: live.now.pressureBar,
              kind: 'pressure' as const,
              least: bands.fillBar[0],
              most: bands.alarmBar,
            },
          ]
        : []),
    ];
  },
  checks: () => circulateChecks,
  action: () => ({ event: 'vent', label: 'Vented' }),
  forms: (look) => [
    ...(look.live.seen.has('flowLpm') && look.live.seen.has('returnC')
      ? []
      : [
          typedForm('circulated-min', {
            label: 'Minutes',
            unit: 'min',
            least: 0,
            most: 1440,
            step: 1,
            start: circulateMin,
          }),
        ]),
    typedForm('circulate-min', {
      label: 'Minutes',
      unit: 'min',
      least: 1,
      most: 1440,
      step: 1,
      start: minutesOf(look),
    }),
  ],
  remarks: (look) => [
    ...clockRemarks(look.live.circulated),
    ...((look.live.now.pressureBar ?? 9) < 0.5 && look.job.survey.system === 'sealed' ? [need('top-up')] : []),
  ],
  gate: (look) => {
    const counted = Math.max((look.live.circulated?.countedS ?? 0) / 60, typedFigure(look.job, 'circulated-min') ?? 0);
    const left = minutesOf(look) - counted;
    return [...unticked(look, circulateChecks), ...(left > 0 ? [need('circulate', { minutes: Math.ceil(left) })] : [])];
  },
};
