import { channels, type SampleKey } from '../../src/core/quantity/channels.ts';
import type { TraceColumn } from '../../src/server/protocol.ts';
import { type Chart, createChart, type Paper, type YAxis } from '../shared/chart.ts';
import type { Span } from '../shared/plot-data.ts';
import type { Token } from '../shared/theme.ts';
import { type Drawn, evidence, overTurbidity, underTurbidity } from './layers.ts';
import type { Held } from './trace-feed.ts';
import { clock } from './words.ts';

const tokens: Readonly<Record<SampleKey, Token>> = {
  turbidityNtu: 'trace',
  turbidityOutNtu: 'quiet',
  flowLpm: 'flow',
  pressureBar: 'pressure',
  supplyC: 'temperature',
  returnC: 'temperature',
  conductivityUsCm: 'conductivity',
};

export const channelOf = (key: SampleKey) => channels.find((c) => c.key === key);

/** One channel under the others, on the same axis of time. */
export interface Lane {
  readonly key: SampleKey;
  show(held: Held, view: Span): void;
  move(view: Span): void;
  readonly chart: Chart;
}

/** Smallest and largest value of the whole run: the axis stays as it is wherever one looks. */
function rangeOf(held: Held | null, key: SampleKey): readonly [number, number] {
  let [low, high] = [Number.POSITIVE_INFINITY, Number.NEGATIVE_INFINITY];
  for (const value of held?.rows.values[key] ?? []) {
    if (value === null) continue;
    if (value < low) low = value;
    if (value > high) high = value;
  }
  if (low > high) return [0, 1];
  // Temperatures and conductivity far from nought would be a flat line from nought.
  const from = low >= 0 && low < 0.6 * high ? 0 : low - 0.15 * Math.max(high - low, 0.02 * Math.abs(high), 0.1);
  const room = high - from;
  return [from < 0 && low >= 0 ? 0 : from, from + (room > 0 ? roundUp(room * 1.04) : 1)];
}

const tops = [1, 1.25, 1.6, 2, 2.5, 3, 4, 5, 6, 8, 10];

/** The next size that an axis can have. */
function roundUp(value: number): number {
  const power = 10 ** Math.floor(Math.log10(value));
  return power * (tops.find((t) => t * power >= value) ?? 10);
}

function topDecade(held: Held | null): number {
  const most = (held?.rows.values['turbidityNtu'] ?? []).reduce<number>((a, v) => (v !== null && v > a ? v : a), 100);
  return 10 ** Math.ceil(Math.log10(most * 1.01));
}

export function createLane(
  host: HTMLElement,
  key: SampleKey,
  overview: Held | null,
  isLast: boolean,
  drawn: () => Drawn,
): Lane {
  const isTurbidity = key === 'turbidityNtu';
  const isNtu = isTurbidity || key === 'turbidityOutNtu';
  const range = rangeOf(overview, key);
  const y: YAxis = isNtu ? { kind: 'log', lo: 0.5, hi: topDecade(overview) } : { kind: 'linear', range: () => range };
  const column: TraceColumn = key;
  const chart = createChart(host, {
    lines: [{ column, token: tokens[key], width: isTurbidity ? 1.5 : 1.25, dense: true }],
    y,
    axes: true,
    text: 13,
    times: isLast,
    timeText: clock,
    laneTop: isTurbidity ? 26 : 7,
    // The chart library remembers what it set last: pens are given back as they were.
    under: (paper: Paper) => {
      paper.ctx.save();
      if (isTurbidity) underTurbidity(paper, drawn());
      evidence(paper, drawn());
      paper.ctx.restore();
    },
    over: (paper: Paper) => {
      if (!isTurbidity) return;
      paper.ctx.save();
      overTurbidity(paper, drawn());
      paper.ctx.restore();
    },
  });
  return {
    key,
    chart,
    show: ({ rows }, view) => chart.show([rows.timeS, rows.values[key] ?? rows.timeS.map(() => null)], view),
    move: (view) => chart.move(view),
  };
}
