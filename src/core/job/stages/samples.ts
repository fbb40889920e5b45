import { type TestItem, testItemNames, testItems } from '../../chemistry/limits.ts';
import type { Reading, TestRow, WaterTest } from '../../chemistry/water-test.ts';
import { impossibleReadings } from '../../chemistry/water-test.ts';
import type { Field } from './field.ts';
import { type Form, type Look, need, type StageSpec, type Table } from './stage.ts';
import { stillSeen, type Water, waterTitles } from '../water-tests.ts';

const decimals: Readonly<Record<TestItem, number>> = {
  conductivity: 0,
  turbidity: 1,
  ph: 1,
  hardness: 0,
  iron: 1,
  copper: 1,
  temperature: 0,
  inhibitor: 0,
};

/** Without an instrument: the depth of water at which the mark at the foot of a turbidity tube goes out of sight. */
const tubeFields: readonly Field[] = [
  { name: 'tube', label: 'or turbidity tube, depth', kind: 'number', unit: 'cm', least: 3, most: 150, optional: true },
  {
    name: 'tubeMark',
    label: 'Mark in the tube',
    kind: 'choice',
    choices: ['', 'out of sight', stillSeen],
    optional: true,
  },
];

/**
 * `now`: what the rig's sensors read, shown to begin with and kept as theirs. Only where they are in this very water:
 * nobody tests what is read off a sensor elsewhere.
 */
export function sampleForm(water: Water, now: { ntu: number | null; usCm: number | null } | null): Form {
  const starts: Partial<Record<TestItem, number>> = {};
  if (now?.ntu !== null && now?.ntu !== undefined) starts.turbidity = Math.round(now.ntu * 10) / 10;
  if (now?.usCm !== null && now?.usCm !== undefined) starts.conductivity = Math.round(now.usCm);
  const items = testItemNames.filter((item) => item !== 'inhibitor' || water === 'after');
  return {
    id: `sample-${water}`,
    title: waterTitles[water],
    event: 'sample',
    fixed: { water },
    fields: [
      ...items.flatMap((item): Field[] => {
        const { title: label, unit, low, high } = testItems[item];
        const field: Field = {
          name: item,
          label,
          kind: 'number',
          unit,
          least: low,
          most: high,
          decimals: decimals[item],
          optional: true,
          ...(starts[item] === undefined ? {} : { start: starts[item], startBy: 'rig' as const }),
        };
        return item === 'turbidity' ? [field, ...tubeFields] : [field];
      }),
      { name: 'look', label: 'Look and smell', kind: 'text', optional: true },
    ],
    submit: 'Keep the test',
    ...(water === 'mains' ? { about: 'Taken at the tap that will feed the rinse.' } : {}),
  };
}

/** One limit by hand: it stands in the place of the one that came with the set. */
export const limitForm: Form = {
  id: 'limit',
  title: 'Set a limit',
  event: 'limit',
  fixed: {},
  fields: [
    { name: 'item', label: 'Of', kind: 'choice', choices: [...testItemNames], start: 'ph' },
    { name: 'least', label: 'At least', kind: 'number', least: 0, most: 200000, optional: true },
    { name: 'most', label: 'At most', kind: 'number', least: 0, most: 200000, optional: true },
    { name: 'overMains', label: 'Over the mains', kind: 'number', least: 0, most: 200000, optional: true },
    {
      name: 'overMainsPercent',
      label: 'Over the mains, share',
      kind: 'number',
      unit: '%',
      least: 0,
      most: 1000,
      optional: true,
    },
    { name: 'origin', label: 'Where it comes from', kind: 'text', optional: true },
  ],
  submit: 'Set it',
  about: 'In the unit of the test; left empty there is no limit. What is typed as its origin is printed beside it.',
};

function figure(value: Reading | 'not-measured', item: TestItem): string {
  if (value === 'not-measured') return '\u2013';
  if (value.below !== undefined) return `< ${value.below.toFixed(decimals[item])}`;
  const by = value.by === 'rig' ? ' (rig)' : '';
  return `${value.tubeCm === undefined ? '' : '\u2248 '}${value.value.toFixed(decimals[item])}${by}`;
}

function limitText({ least, most, item, verdict }: TestRow): string {
  if (verdict === 'no-mains') return 'needs the mains test';
  const text = (n: number): string => n.toFixed(decimals[item]);
  if (least !== null && most !== null) return `${text(least)} to ${text(most)}`;
  if (most !== null) return `\u2264 ${text(most)}`;
  return least === null ? 'no limit' : `\u2265 ${text(least)}`;
}

const verdictWords: Readonly<Record<TestRow['verdict'], string>> = {
  inside: 'inside',
  outside: 'OUTSIDE',
  undecided: 'at the limit',
  'no-limit': '',
  'no-mains': '',
  'not-measured': '',
};

/** Before, after and limit side by side, with where each limit comes from. */
export function sampleTable({ worked }: Look): Table | null {
  const read = worked.compared.filter(
    (r) => r.before !== 'not-measured' || r.after !== 'not-measured' || r.mains !== 'not-measured',
  );
  if (read.length === 0) return null;
  return {
    title: 'Samples against limits',
    head: ['', 'Mains', 'Before', 'After', 'Limit', '', 'Origin'],
    rows: read.map((r) => [
      `${testItems[r.item].title}${testItems[r.item].unit === '' ? '' : `, ${testItems[r.item].unit}`}`,
      figure(r.mains, r.item),
      figure(r.before, r.item),
      figure(r.after, r.item),
      limitText(r),
      verdictWords[r.verdict],
      r.origin ?? '',
    ]),
  };
}

function impossible(test: WaterTest) {
  return impossibleReadings(test);
}

export const beforeSamples: StageSpec = {
  name: 'before-samples',
  steps: () => [
    'Take a mains sample at the tap that will feed the rinse.',
    'Take a sample of the system water; take it cold.',
    'Test both in the same way, and keep a photo of the two side by side.',
  ],
  cautions: ['scald'],
  // The rig is not joined yet: its sensors read other water.
  forms: () => [sampleForm('mains', null), sampleForm('before', null), limitForm],
  table: sampleTable,
  remarks: ({ worked }) => [
    ...impossible(worked.tests.mains),
    ...impossible(worked.tests.before),
    ...(worked.swapped.length > 0 ? [need('swapped', { items: worked.swapped.join(' and ') })] : []),
  ],
  gate: ({ worked }) => {
    const { turbidity, conductivity } = worked.tests.mains;
    return turbidity || conductivity ? [] : [need('mains')];
  },
};

export const afterSamples: StageSpec = {
  name: 'after-samples',
  steps: () => [
    'Shut the mains off and let the water go round until its figures stand.',
    'Take a sample of the system water and test it as before.',
    'Keep a photo of it beside the one from before.',
  ],
  cautions: [],
  forms: ({ live }) => [
    sampleForm('after', { ntu: live.now.turbidityNtu, usCm: live.now.conductivityUsCm }),
    limitForm,
  ],
  table: sampleTable,
  remarks: ({ worked }) => impossible(worked.tests.after),
  gate: ({ worked }) => {
    if (Object.keys(worked.tests.after).length === 0) return [need('after-test')];
    return worked.compared
      .filter((r) => r.verdict === 'outside')
      .map((r) =>
        need('outside', { what: testItems[r.item].title, found: figure(r.after, r.item), limit: limitText(r) }),
      );
  },
};
