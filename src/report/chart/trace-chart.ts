import { decimate, type Point } from './decimate.ts';
import type { Ink, Picture, Shape } from './picture.ts';
import { type Scale, timeTicks, timeUnit } from './scale.ts';

export interface Curve {
  readonly points: readonly Point[];
  readonly ink: Ink;
  readonly width: number;
  readonly dash?: readonly [number, number];
  /** Longest silence that is still drawn through, s. */
  readonly gapS: number;
}

export interface TraceChart {
  readonly width: number;
  readonly height: number;
  readonly fromS: number;
  readonly toS: number;
  readonly scale: Scale;
  readonly unit: string;
  readonly curves: readonly Curve[];
  /** Passes: a line down with a wedge above. */
  readonly passesS?: readonly number[];
  /** Peaks of pulses: a ring. */
  readonly peaks?: readonly (readonly [timeS: number, value: number])[];
  /** Spans in which nothing could be told: hatched. */
  readonly hatched?: readonly (readonly [number, number])[];
  /** Spans that were clear: a bar along the foot. */
  readonly bars?: readonly (readonly [number, number])[];
  /** Levels over the whole width, with their words. */
  readonly limits?: readonly { readonly value: number; readonly text: string }[];
  readonly alt: string;
}

const left = 34;
const right = 6;
const above = 10;
const below = 16;
const small = 6.5;

/** Where a time and a value lie on a chart of this size; exact, so that tests can say what must lie where. */
export function placeOf(chart: Pick<TraceChart, 'width' | 'height' | 'fromS' | 'toS' | 'scale'>): {
  x: (timeS: number) => number;
  y: (value: number) => number;
  readonly plot: { readonly x: number; readonly y: number; readonly w: number; readonly h: number };
} {
  const plot = { x: left, y: above, w: chart.width - left - right, h: chart.height - above - below };
  const span = Math.max(1e-9, chart.toS - chart.fromS);
  return {
    x: (timeS) => plot.x + plot.w * Math.min(1, Math.max(0, (timeS - chart.fromS) / span)),
    y: (value) => plot.y + plot.h * (1 - chart.scale.place(value)),
    plot,
  };
}

/** A trace on the run's clock with what was told and found drawn into it. */
export function traceChart(chart: TraceChart): Picture {
  const shapes = [...ground(chart), ...marks(chart), ...curves(chart), ...words(chart)];
  return { width: chart.width, height: chart.height, shapes, alt: chart.alt };
}

function ground(chart: TraceChart): Shape[] {
  const { x, y, plot } = placeOf(chart);
  const shapes: Shape[] = [];
  for (const [fromS, toS] of chart.hatched ?? []) {
    const [x1, x2] = [x(fromS), x(toS)];
    if (x2 - x1 >= 0.5) shapes.push({ kind: 'hatch', x: x1, y: plot.y, w: x2 - x1, h: plot.h });
  }
  for (const [fromS, toS] of chart.bars ?? [])
    shapes.push({
      kind: 'rect',
      x: x(fromS),
      y: plot.y + plot.h - 3,
      w: Math.max(0.8, x(toS) - x(fromS)),
      h: 3,
      ink: 'good',
    });
  for (const tick of chart.scale.ticks) {
    const at = y(tick.value);
    shapes.push({ kind: 'line', points: [plot.x, at, plot.x + plot.w, at], ink: 'soft', width: 0.5 });
    shapes.push({
      kind: 'text',
      x: plot.x - 3,
      y: at + 2.2,
      text: tick.text,
      size: small,
      anchor: 'end',
      ink: 'quiet',
    });
  }
  shapes.push({
    kind: 'line',
    points: [plot.x, plot.y + plot.h, plot.x + plot.w, plot.y + plot.h],
    ink: 'hair',
    width: 0.6,
  });
  return shapes;
}

function marks(chart: TraceChart): Shape[] {
  const { x, y, plot } = placeOf(chart);
  const shapes: Shape[] = [];
  for (const passS of chart.passesS ?? []) {
    const at = x(passS);
    shapes.push({
      kind: 'line',
      points: [at, plot.y, at, plot.y + plot.h],
      ink: 'accent',
      width: 0.5,
      dash: [1.5, 1.5],
    });
    shapes.push({
      kind: 'line',
      points: [at - 2.5, plot.y - 4, at, plot.y, at + 2.5, plot.y - 4],
      ink: 'accent',
      width: 1,
    });
  }
  for (const { value, text } of chart.limits ?? []) {
    const at = y(value);
    shapes.push({ kind: 'line', points: [plot.x, at, plot.x + plot.w, at], ink: 'accent', width: 0.8, dash: [5, 2] });
    shapes.push({ kind: 'text', x: plot.x + plot.w, y: at - 2, text, size: small, anchor: 'end', ink: 'accent' });
  }
  for (const [timeS, value] of chart.peaks ?? [])
    shapes.push({ kind: 'ring', x: x(timeS), y: y(value), r: 2.2, ink: 'accent' });
  return shapes;
}

function curves(chart: TraceChart): Shape[] {
  const { y, plot } = placeOf(chart);
  // Two columns to the point: finer than an office printer's dots are not seen.
  const columns = Math.max(2, Math.round(plot.w * 2));
  return chart.curves.flatMap(({ points, ink, width, dash, gapS }) =>
    decimate(points, chart.fromS, chart.toS, columns, gapS).map((stretch): Shape => {
      const flat = stretch.flatMap(({ column, first, second }) => {
        const at = plot.x + ((column + 0.5) / columns) * plot.w;
        return first === second ? [at, y(first)] : [at, y(first), at, y(second)];
      });
      // One value alone would be a line of no length.
      const drawn = flat.length === 2 ? [...flat, (flat[0] ?? 0) + 0.5, flat[1] ?? 0] : flat;
      return { kind: 'line', points: drawn, ink, width, ...(dash ? { dash } : {}) };
    }),
  );
}

function words(chart: TraceChart): Shape[] {
  const { x, plot } = placeOf(chart);
  const most = Math.max(2, Math.floor(plot.w / 34));
  const shapes: Shape[] = [{ kind: 'text', x: 0, y: 6, text: chart.unit, size: small, anchor: 'start', ink: 'quiet' }];
  const foot = plot.y + plot.h;
  const unit = timeUnit(chart.fromS, chart.toS, most);
  shapes.push({ kind: 'text', x: 0, y: foot + 9, text: unit, size: small, anchor: 'start', ink: 'quiet' });
  for (const tick of timeTicks(chart.fromS, chart.toS, most)) {
    const at = x(tick.value);
    shapes.push({ kind: 'line', points: [at, foot, at, foot + 2.5], ink: 'hair', width: 0.6 });
    shapes.push({ kind: 'text', x: at, y: foot + 9, text: tick.text, size: small, anchor: 'middle', ink: 'quiet' });
  }
  return shapes;
}
