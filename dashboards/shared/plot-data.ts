import type { TraceColumn } from '../../src/server/protocol.ts';
import type { TraceBuffer } from './trace-buffer.ts';

/**
 * The one place where plotted arrays are made. The chart library leaves a gap only at `null`: it draws straight across
 * NaN and undefined, which would show water that nobody measured.
 */
export type PlotColumn = (number | null)[];

export interface Span {
  readonly fromS: number;
  readonly toS: number;
}

/** Silence longer than this is a gap: more than two sample periods missed, where samples come unevenly more. */
export function gapLimitS(stepS: TraceBuffer['stepS']): number {
  return Math.max(0.5, stepS.median * 2.5, stepS.high * 1.8);
}

interface Plot {
  readonly x: number[];
  readonly ys: PlotColumn[];
}

const plotted = (value: number, floor: number | undefined): number | null => {
  if (Number.isNaN(value)) return null;
  return floor !== undefined && value < floor ? floor : value;
};

/**
 * Rows of a span as arrays for the chart: [times, column, ...]. With more rows than `points` allows, each bucket of rows
 * becomes two, its minimum and its maximum in their order, so that a short pulse never disappears.
 * @param floor Values under it are drawn at it (a log axis has no zero).
 */
export function plotData(
  buffer: TraceBuffer,
  span: Span,
  columns: readonly TraceColumn[],
  points: number,
  floor?: number,
): [number[], ...PlotColumn[]] {
  const from = Math.max(0, buffer.indexAt(span.fromS) - 1);
  const to = Math.min(buffer.length, buffer.indexAt(span.toS) + 1);
  const perBucket = Math.max(1, Math.ceil((2 * (to - from)) / Math.max(2, points)));
  const plot: Plot = { x: [], ys: columns.map(() => []) };
  const limitS = gapLimitS(buffer.stepS);
  let previousS = Number.NaN;
  for (let i = from; i < to; ) {
    const timeS = buffer.at('timeS', i);
    if (timeS - previousS > limitS) addGap(plot, (timeS + previousS) / 2);
    let end = i + 1;
    while (end < to && end - i < perBucket && buffer.at('timeS', end) - buffer.at('timeS', end - 1) <= limitS) end += 1;
    addBucket(plot, buffer, columns, i, end, floor);
    previousS = buffer.at('timeS', end - 1);
    i = end;
  }
  return [plot.x, ...plot.ys];
}

function addGap(plot: Plot, timeS: number): void {
  plot.x.push(timeS);
  for (const y of plot.ys) y.push(null);
}

function addBucket(
  plot: Plot,
  buffer: TraceBuffer,
  columns: readonly TraceColumn[],
  from: number,
  end: number,
  floor: number | undefined,
): void {
  const single = end - from < 3;
  if (single) {
    for (let i = from; i < end; i += 1) {
      plot.x.push(buffer.at('timeS', i));
      columns.forEach((column, c) => plot.ys[c]?.push(plotted(buffer.at(column, i), floor)));
    }
    return;
  }
  plot.x.push(buffer.at('timeS', from), buffer.at('timeS', end - 1));
  columns.forEach((column, c) => {
    let low = from;
    let high = from;
    for (let i = from + 1; i < end; i += 1) {
      const value = buffer.at(column, i);
      if (value < buffer.at(column, low) || Number.isNaN(buffer.at(column, low))) low = i;
      if (value > buffer.at(column, high) || Number.isNaN(buffer.at(column, high))) high = i;
    }
    const [first, second] = low < high ? [low, high] : [high, low];
    plot.ys[c]?.push(plotted(buffer.at(column, first), floor), plotted(buffer.at(column, second), floor));
  });
}

/** Spans without a value of this column, up to `nowS`. Never interpolated, always shown. */
export function gapSpans(buffer: TraceBuffer, column: TraceColumn, span: Span, nowS: number): Span[] {
  const spans: Span[] = [];
  const limitS = Math.max(1, gapLimitS(buffer.stepS));
  let previousS = Number.NaN;
  for (let i = Math.max(0, buffer.indexAt(span.fromS) - 1); i < buffer.length; i += 1) {
    if (Number.isNaN(buffer.at(column, i))) continue;
    const timeS = buffer.at('timeS', i);
    if (timeS > span.toS) break;
    if (timeS - previousS > limitS) spans.push({ fromS: previousS, toS: timeS });
    previousS = timeS;
  }
  if (nowS - previousS > Math.max(3, limitS)) spans.push({ fromS: previousS, toS: nowS });
  return spans;
}
