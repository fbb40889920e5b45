import type { Picture, Shape } from './picture.ts';
import { timeTicks, timeUnit } from './scale.ts';

export interface TimeLineRow {
  readonly title: string;
  readonly spans: readonly (readonly [fromS: number, toS: number])[];
}

const left = 112;
const rowHeight = 13;
const foot = 14;

/** Stages under one another on the run's clock: a bar for each stay. */
export function timeLine(rows: readonly TimeLineRow[], endS: number, width: number, alt: string): Picture {
  const height = rows.length * rowHeight + foot;
  const w = width - left - 8;
  const x = (timeS: number): number => left + (w * timeS) / Math.max(1, endS);
  const most = Math.max(2, Math.floor(w / 40));
  const ticks = timeTicks(0, endS, most);
  const bottom = rows.length * rowHeight;
  const shapes: Shape[] = ticks.map(({ value }) => ({
    kind: 'line',
    points: [x(value), 0, x(value), bottom + 3],
    ink: 'soft',
    width: 0.5,
  }));
  for (const [i, { title, spans }] of rows.entries()) {
    const y = i * rowHeight;
    shapes.push({ kind: 'text', x: 0, y: y + 9, text: title, size: 8.5, anchor: 'start', ink: 'trace' });
    for (const [fromS, toS] of spans)
      shapes.push({
        kind: 'rect',
        x: x(fromS),
        y: y + 3,
        w: Math.max(1, x(toS) - x(fromS)),
        h: rowHeight - 6,
        ink: 'accent',
      });
  }
  for (const { value, text } of ticks)
    shapes.push({ kind: 'text', x: x(value), y: bottom + 11, text, size: 6.5, anchor: 'middle', ink: 'quiet' });
  shapes.push({
    kind: 'text',
    x: 0,
    y: bottom + 11,
    text: timeUnit(0, endS, most),
    size: 6.5,
    anchor: 'start',
    ink: 'quiet',
  });
  return { width, height, shapes, alt };
}
