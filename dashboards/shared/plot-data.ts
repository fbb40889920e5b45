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

/** Where the rows of a span begin and end, and how many of them become one bucket. */
interface Rows {
  readonly times: Float64Array;
  readonly from: number;
  readonly to: number;
  readonly perBucket: number;
  readonly limitS: number;
}

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
  const rows: Rows = { times: buffer.column('timeS'), from, to, perBucket, limitS: gapLimitS(buffer.stepS) };
  const ends = bucketEnds(rows);
  return [
    timesOf(rows, ends),
    ...columns.map((column) => columnOf(rows, ends, buffer.column(column), floor ?? Number.NEGATIVE_INFINITY)),
  ];
}

/** Row after the last of each bucket; negative where a gap comes before the bucket. */
function bucketEnds({ times, from, to, perBucket, limitS }: Rows): Int32Array {
  const ends = new Int32Array(to - from);
  let count = 0;
  let previousS = Number.NaN;
  for (let i = from; i < to; ) {
    let lastS = times[i] ?? Number.NaN;
    const isAfterGap = lastS - previousS > limitS;
    const most = Math.min(to, i + perBucket);
    let end = i + 1;
    for (; end < most; end += 1) {
      const timeS = times[end] ?? Number.NaN;
      if (timeS - lastS > limitS) break;
      lastS = timeS;
    }
    ends[count] = isAfterGap ? -end : end;
    count += 1;
    previousS = lastS;
    i = end;
  }
  return ends.subarray(0, count);
}

function timesOf({ times, from }: Rows, ends: Int32Array): number[] {
  const out: number[] = [];
  let i = from;
  for (const signed of ends) {
    const end = Math.abs(signed);
    const firstS = times[i] ?? Number.NaN;
    if (signed < 0) out.push((firstS + (times[i - 1] ?? Number.NaN)) / 2);
    out.push(firstS);
    if (end - i > 1) out.push(times[end - 1] ?? Number.NaN);
    i = end;
  }
  return out;
}

/** Nothing measured is null, never NaN. */
const drawn = (value: number, floor: number): number | null =>
  Number.isNaN(value) ? null : value < floor ? floor : value;

function columnOf({ from }: Rows, ends: Int32Array, values: Float64Array, floor: number): PlotColumn {
  const out: PlotColumn = [];
  let i = from;
  for (const signed of ends) {
    const end = Math.abs(signed);
    if (signed < 0) out.push(null);
    let low = values[i] ?? Number.NaN;
    let high = low;
    let lowAt = i;
    let highAt = i;
    if (end - i > 2)
      for (let k = i + 1; k < end; k += 1) {
        const value = values[k] ?? Number.NaN;
        if (value < low || Number.isNaN(low)) {
          low = value;
          lowAt = k;
        }
        if (value > high || Number.isNaN(high)) {
          high = value;
          highAt = k;
        }
      }
    else if (end - i === 2) {
      high = values[end - 1] ?? Number.NaN;
      highAt = end - 1;
    }
    out.push(drawn(lowAt <= highAt ? low : high, floor));
    if (end - i > 1) out.push(drawn(lowAt <= highAt ? high : low, floor));
    i = end;
  }
  return out;
}

/** Spans without a value of this column, up to `nowS`. Never interpolated, always shown. */
export function gapSpans(buffer: TraceBuffer, column: TraceColumn, span: Span, nowS: number): Span[] {
  const spans: Span[] = [];
  const limitS = Math.max(1, gapLimitS(buffer.stepS));
  const times = buffer.column('timeS');
  const values = buffer.column(column);
  let previousS = Number.NaN;
  for (let i = Math.max(0, buffer.indexAt(span.fromS) - 1); i < buffer.length; i += 1) {
    if (Number.isNaN(values[i] ?? Number.NaN)) continue;
    const timeS = times[i] ?? Number.NaN;
    if (timeS > span.toS) break;
    if (timeS - previousS > limitS) spans.push({ fromS: previousS, toS: timeS });
    previousS = timeS;
  }
  if (nowS - previousS > Math.max(3, limitS)) spans.push({ fromS: previousS, toS: nowS });
  return spans;
}
