import { channels, type SampleKey } from '../../core/quantity/channels.ts';
import type { LookedAtRun } from '../../core/audit/page-schema.ts';
import { duration, moment } from '../../report/fact.ts';
import type { Shape } from '../../report/chart/picture.ts';
import { evenScale, logScale } from '../../report/chart/scale.ts';
import { traceChart } from '../../report/chart/trace-chart.ts';
import { pictureSvg } from '../../report/html.ts';
import { type Columns, decimate } from '../../store/decimate.ts';

const width = 900;
const firstHeight = 230;
const laneHeight = 110;
const titleHeight = 34;

/** The chart of the run's page as one drawing: the channels under one another on one axis, marks in the first. */
export function chartSvg(
  title: string,
  columns: Columns,
  keys: readonly SampleKey[],
  fromS: number,
  toS: number,
  looked: LookedAtRun | null,
): string {
  const drawn = decimate(columns, keys, fromS, toS, 2 * width);
  const shapes: Shape[] = [
    { kind: 'text', x: 2, y: 13, text: title, size: 11, anchor: 'start', ink: 'trace' },
    {
      kind: 'text',
      x: 2,
      y: 26,
      text: `${moment(fromS)} to ${moment(toS)} on the run's clock`,
      size: 8,
      anchor: 'start',
      ink: 'quiet',
    },
  ];
  let top = titleHeight;
  for (const key of keys) {
    const channel = channels.find((c) => c.key === key);
    if (!channel) continue;
    const ys = drawn.values[key] ?? [];
    const values = ys.flatMap((y) => (y === null ? [] : [y]));
    const isTurbidity = key === 'turbidityNtu';
    const height = isTurbidity ? firstHeight : laneHeight;
    const inside = (t: number): boolean => t >= fromS && t <= toS;
    const picture = traceChart({
      width,
      height,
      fromS,
      toS,
      scale: channel.unit === 'NTU' ? logScale(values, 0.5) : evenScale(values.length > 0 ? values : [0], 3),
      unit: `${channel.title}, ${channel.unit}`,
      curves: [
        {
          points: drawn.timeS.map((t, i) => [t, ys[i] ?? null] as const),
          ink: 'trace',
          width: 0.7,
          gapS: Math.max(columns.gapS, 2 * drawn.stepS),
        },
      ],
      passesS: isTurbidity ? (looked?.visits ?? []).flatMap((v) => v.passesS).filter(inside) : [],
      hatched: isTurbidity ? spansOf(looked, 'cannot-tell', fromS, toS) : [],
      bars: isTurbidity ? spansOf(looked, 'clear', fromS, toS) : [],
      alt: '',
    });
    shapes.push(...picture.shapes.map((shape) => lower(shape, top)));
    top += height;
  }
  const names = keys.map((key) => channels.find((c) => c.key === key)?.title ?? key).join(', ');
  return pictureSvg({ width, height: top, shapes, alt: `${title}: ${names}, over ${duration(toS - fromS)}.` });
}

function spansOf(looked: LookedAtRun | null, state: string, fromS: number, toS: number): [number, number][] {
  return (looked?.verdicts ?? [])
    .filter((v) => v.state === state && v.toS > fromS && v.fromS < toS)
    .map((v): [number, number] => [Math.max(fromS, v.fromS), Math.min(toS, v.toS)]);
}

/** The same shape, further down. */
function lower(shape: Shape, by: number): Shape {
  if (shape.kind !== 'line') return { ...shape, y: shape.y + by };
  return { ...shape, points: shape.points.map((p, i) => (i % 2 === 1 ? p + by : p)) };
}
