import { type StageName, stageNames } from '../../core/job/event.ts';
import { spanOf, withoutLone } from '../../core/quantity/lone.ts';
import { channels } from '../../core/quantity/channels.ts';
import { stageOf } from '../../core/job/stages.ts';
import type { Block, Section } from '../block.ts';
import { contentWidth } from '../block.ts';
import { evenScale, logScale } from '../chart/scale.ts';
import { timeLine } from '../chart/time-line.ts';
import { traceChart } from '../chart/trace-chart.ts';
import { duration, figure, moment } from '../fact.ts';
import type { Gathered } from '../gather.ts';
import { channelUnit, inChannelUnit } from '../in-units.ts';

const titleOf = (name: string): string => stageOf(name)?.title ?? name;

export function stagesSection(g: Gathered): Section {
  const entered = g.stays.filter((s) => s.stage !== 'baseline');
  const missed = stageNames.filter((name) => !g.stays.some((s) => s.stage === name));
  const spans = [...(g.stays.some((s) => s.stage === 'baseline') ? (['baseline'] as const) : []), ...stageNames]
    .map((name) => ({
      title: titleOf(name),
      spans: g.stays.filter((s) => s.stage === name).map((s): [number, number] => [s.fromS, s.toS]),
    }))
    .filter((row) => row.spans.length > 0);
  const told = entered
    .map((s) => `${titleOf(s.stage)} from ${moment(s.fromS)} for ${duration(s.toS - s.fromS)}`)
    .join('; ');
  const line: Block[] =
    spans.length === 0
      ? [{ kind: 'text', text: 'No stage was marked in this run.' }]
      : [
          {
            kind: 'picture',
            caption: "Stages on the run's clock",
            picture: timeLine(spans, g.endS, contentWidth, `Stages: ${told}.`),
          },
        ];
  return {
    id: 'stages',
    title: 'Stages',
    // Heading and time line.
    room: 90 + 13 * spans.length,
    blocks: [
      ...line,
      {
        kind: 'table',
        caption: 'Stages as they were entered',
        columns: [
          { title: 'Stage', share: 0.3 },
          { title: 'From', share: 0.14, end: true },
          { title: 'Length', share: 0.14, end: true },
          { title: 'Why it was left', share: 0.42 },
        ],
        rows: entered.map((s) => [titleOf(s.stage), moment(s.fromS), duration(s.toS - s.fromS), s.why || '-']),
        none: 'None.',
      },
      {
        kind: 'list',
        title: 'Stages not entered',
        items: missed.length === 0 ? ['None.'] : missed.map((name) => notEntered(g, name)),
      },
      ...wholeTrace(g),
    ],
  };
}

function notEntered(g: Gathered, name: StageName): string {
  const { why } = g.driven.job.course[name];
  return `${titleOf(name)}: ${why === '' ? 'no reason was given' : why}.`;
}

function wholeTrace(g: Gathered): Block[] {
  const { samples } = g.input;
  const values = samples.flatMap((s) => (s.turbidityNtu === null ? [] : [s.turbidityNtu]));
  if (values.length === 0) return [{ kind: 'text', text: 'Turbidity was not measured in this run.' }];
  const top = values.reduce((a, b) => Math.max(a, b), 0);
  const picture = traceChart({
    width: contentWidth,
    height: 150,
    fromS: 0,
    toS: Math.max(1, g.endS),
    scale: logScale(values, 1),
    unit: 'NTU',
    curves: [{ points: samples.map((s) => [s.timeS, s.turbidityNtu] as const), ink: 'trace', width: 0.6, gapS: 15 }],
    hatched: g.driven.spans.flatMap((s): [number, number][] =>
      s.state === 'cannot-tell' ? [[s.fromS, s.toS ?? g.endS]] : [],
    ),
    bars: g.visits.map(({ visit, toS }): [number, number] => [visit.fromS, toS]),
    alt: `Turbidity of the return over the whole run, ${duration(g.endS)}, at most ${Math.round(top)} NTU.`,
  });
  const caption =
    'Turbidity of the return over the whole run; bars along the foot: visits; hatched: nothing could be told';
  return [{ kind: 'picture', caption, picture }, ...otherTraces(g)];
}

const others = ['flowLpm', 'pressureBar', 'returnC', 'conductivityUsCm'] as const;

/** What else was measured over the whole run, small. */
function otherTraces(g: Gathered): Block[] {
  const items = others.flatMap((key) => {
    const channel = channels.find((c) => c.key === key);
    const points = g.input.samples.map((s) => [s.timeS, inChannelUnit(g, key, s[key])] as const);
    const values = points.flatMap(([, v]) => (v === null ? [] : [v]));
    if (!channel) return [];
    const unit = channelUnit(g, key);
    const drawn = spanOf(values);
    const told = spanOf(withoutLone(values));
    if (!drawn || !told) return [];
    const between = `${figure(told.low, '')} to ${figure(told.high, unit)}`;
    const picture = traceChart({
      width: (contentWidth - 14) / 2,
      height: 84,
      fromS: 0,
      toS: Math.max(1, g.endS),
      scale: evenScale([drawn.low, drawn.high], 3),
      unit,
      curves: [{ points, ink: 'trace', width: 0.6, gapS: 15 }],
      alt: `${channel.title} over the whole run: ${between}.`,
    });
    return [{ title: channel.title, note: between, picture }];
  });
  return items.length === 0
    ? []
    : [
        {
          kind: 'pictures',
          caption:
            'What else was measured over the whole run, from the lowest to the highest reading, lone wild ones aside',
          items,
        },
      ];
}
