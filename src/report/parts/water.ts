import { whoWords } from '../../core/job/who.ts';
import { between } from '../../core/quantity/in-time.ts';
import type { Block, Cell, Section } from '../block.ts';
import { contentWidth } from '../block.ts';
import { median } from '../../core/quantity/robust.ts';
import type { Sample } from '../../core/quantity/sample.ts';
import type { Point } from '../chart/decimate.ts';
import { evenScale, logScale } from '../chart/scale.ts';
import { traceChart } from '../chart/trace-chart.ts';
import type { Facts } from '../facts.ts';
import { duration, figure, moment } from '../fact.ts';
import { dataNumber, dataText, eventsNamed } from '../../core/audit/gather.ts';
import { type LoggedEvent, settingsOf } from '../../core/audit/record.ts';
import { mainsLevel } from '../../core/rinse/at-mains.ts';
import type { Gathered } from '../gather.ts';
import { quantity, sentence } from '../in-units.ts';
import { byWhom, struck } from './put-right.ts';
import { type SampleRow, sampleRows } from './sample-rows.ts';

const verdictWords: Readonly<Record<SampleRow['verdict'], string>> = {
  inside: 'inside',
  outside: 'OUTSIDE',
  undecided: 'at the limit',
  'no-limit': 'no limit',
  'no-mains': 'no mains test',
  'not-measured': 'not measured',
};

/** Samples against limits, and what was put into the water. */
export function waterSection(g: Gathered, { remaining, strength }: Facts): Section {
  return {
    id: 'water',
    title: 'Water tests and chemicals',
    room: 300,
    blocks: [
      {
        kind: 'table',
        caption: 'Before, after and limit',
        columns: [
          { title: 'Test', share: 0.16 },
          { title: 'Mains', share: 0.12, end: true },
          { title: 'Before', share: 0.12, end: true },
          { title: 'After', share: 0.12, end: true },
          { title: 'Limit after', share: 0.16 },
          { title: 'Result', share: 0.12 },
          { title: 'Where the limit comes from', share: 0.2 },
        ],
        rows: sampleRows(g).map((r) => [
          r.title,
          r.mains,
          r.before,
          r.after,
          r.limit,
          verdictWords[r.verdict],
          r.origin || '-',
        ]),
        none: 'No water was tested.',
      },
      {
        kind: 'table',
        caption: 'Chemicals added',
        columns: [
          { title: 'At', share: 0.14, end: true },
          { title: 'What', share: 0.2 },
          { title: 'Amount', share: 0.14, end: true },
          { title: 'By', share: 0.17 },
          { title: 'Words', share: 0.35 },
        ],
        rows: doses(g),
        none: 'No chemical was recorded as added.',
      },
      ...labels(g),
      { kind: 'facts', rows: [remaining, strength] },
    ],
  };
}

/** Each addition in its turn; what was typed wrong stands struck out before what took its place. */
function doses(g: Gathered): Cell[][] {
  const right = eventsNamed(g, 'dose').map((e) => ({
    timeS: e.event.timeS,
    row: [...dosed(e), litres(g, e), whoWords(e.who) || '-', e.event.note || '-'],
  }));
  const wrong = g.struck
    .filter((s) => s.wrong.event.event === 'dose')
    .map((s) => ({
      timeS: s.wrong.event.timeS,
      row: [
        ...dosed(s.wrong),
        struck(litres(g, s.wrong)),
        whoWords(s.wrong.who) || '-',
        `typed wrong: ${s.right === null ? 'taken back' : 'put right'} ${byWhom(s.by)}`,
      ],
    }));
  return [...wrong, ...right].toSorted((a, b) => a.timeS - b.timeS).map(({ row }) => row);
}

function dosed({ event }: LoggedEvent): string[] {
  return [moment(event.timeS), dataText(event, 'what') || 'not said'];
}

function litres(g: Gathered, { event }: LoggedEvent): string {
  const value = dataNumber(event, 'litres');
  return value === null ? 'not typed in' : quantity(g, value, 'volume');
}

/** Label rates as they were typed in. */
function labels(g: Gathered): Block[] {
  const items = eventsNamed(g, 'label').map(({ event }) => {
    const batch = dataText(event, 'batch');
    return `${dataText(event, 'what')}: ${dataText(event, 'amount')} ${dataText(event, 'unit')}${batch === '' ? '' : `, batch ${batch}`}`;
  });
  return items.length === 0 ? [] : [{ kind: 'list', title: 'Label rates as typed in', items }];
}

/** The cold rinse against the mains. */
export function rinseSection(g: Gathered): Section {
  const stays = g.stays.filter((s) => s.stage === 'rinse');
  const { rinse } = g.driven;
  const [firstStay, lastStay] = [stays[0], stays.at(-1)];
  if (!firstStay || !lastStay)
    return {
      id: 'rinse',
      title: 'Rinse',
      blocks: [{ kind: 'text', text: 'Not recorded: this stage was not entered.' }],
    };
  const blocks: Block[] = [];
  if (rinse) {
    const { code, figures } = rinse.verdict.reason;
    const at =
      rinse.clearAtS === null
        ? ''
        : ` Reached at ${moment(rinse.clearAtS)}, ${duration(rinse.clearAtS - firstStay.fromS)} into the rinse.`;
    blocks.push({ kind: 'text', text: `${sentence(g, { code, params: figures })}${at}` });
  }
  return {
    id: 'rinse',
    title: 'Rinse',
    room: 230,
    blocks: [...blocks, ...rinseCharts(g, firstStay.fromS, lastStay.toS)],
  };
}

function rinseCharts(g: Gathered, fromS: number, toS: number): Block[] {
  const samples = between(g.input.samples, fromS, toS);
  const { mains } = g.driven.context;
  const most = mainsLevel(mains, settingsOf(g.input));
  const atMains = g.driven.rinse?.clearAtS;
  const bars: [number, number][] = atMains === null || atMains === undefined ? [] : [[atMains, toS]];
  const ntu = samples.flatMap((s) => (s.turbidityNtu === null ? [] : [s.turbidityNtu]));
  const usCm = samples.flatMap((s) => (s.conductivityUsCm === null ? [] : [s.conductivityUsCm]));
  const both = { width: contentWidth, height: 130, fromS, toS: Math.max(toS, fromS + 1), bars };
  const medians = mediansOf(samples);
  const blocks: Block[] = [];
  if (ntu.length > 0)
    blocks.push({
      kind: 'picture',
      caption: 'Turbidity during the rinse, NTU, log scale, medians of 5 s; bar along the foot: at mains level',
      picture: traceChart({
        ...both,
        scale: logScale([...medians.flatMap(([, v]) => v ?? []), mains.turbidity_ntu, most.ntu], 0.2),
        unit: 'NTU',
        curves: [{ points: medians, ink: 'trace', width: 0.8, gapS: 15 }],
        limits: [{ value: most.ntu, text: mainsWords(most.ntu, mains.turbidity_ntu, 'NTU') }],
        alt: `Turbidity during the rinse, from ${figure(ntu[0] ?? 0, 'NTU')} to ${figure(ntu.at(-1) ?? 0, 'NTU')}; ${mainsWords(most.ntu, mains.turbidity_ntu, 'NTU')}.`,
      }),
    });
  if (usCm.length === 0) return [...blocks, { kind: 'text', text: 'Conductivity during the rinse: not measured.' }];
  blocks.push({
    kind: 'picture',
    caption: 'Conductivity at 25 °C during the rinse, µS/cm',
    picture: traceChart({
      ...both,
      scale: evenScale([...usCm, most.usCm]),
      unit: 'µS/cm',
      curves: [
        { points: samples.map((s) => [s.timeS, s.conductivityUsCm] as const), ink: 'trace', width: 0.7, gapS: 10 },
      ],
      limits: [{ value: most.usCm, text: mainsWords(most.usCm, mains.conductivity_us_cm, 'µS/cm') }],
      alt: `Conductivity during the rinse, from ${figure(usCm[0] ?? 0, 'µS/cm')} to ${figure(usCm.at(-1) ?? 0, 'µS/cm')}; ${mainsWords(most.usCm, mains.conductivity_us_cm, 'µS/cm')}.`,
    }),
  });
  return blocks;
}

/** The level that decides, with that of the mains by which it is taken. */
function mainsWords(most: number, mains: number, unit: string): string {
  return `at most ${figure(most, unit)}; mains ${figure(mains, unit)}`;
}

/** Near nought single readings are noise, which a log scale blows up: the median of each 5 s is drawn. */
function mediansOf(samples: readonly Sample[]): Point[] {
  const points: Point[] = [];
  let values: number[] = [];
  let untilS = (samples[0]?.timeS ?? 0) + 5;
  const put = (): void => {
    if (values.length > 0) points.push([untilS - 2.5, median(values)]);
    values = [];
  };
  for (const { timeS, turbidityNtu } of samples) {
    if (timeS >= untilS) {
      put();
      untilS += 5 * Math.ceil((timeS - untilS + 1e-9) / 5);
    }
    if (turbidityNtu !== null) values.push(turbidityNtu);
  }
  put();
  return points;
}
