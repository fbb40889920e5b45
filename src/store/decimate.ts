import type { SampleKey } from '../core/quantity/channels.ts';
import { type Sample, sampleKeys } from '../core/quantity/sample.ts';

/** Samples of a run column by column: compact, and quick to run through. NaN is a missing value. */
export interface Columns {
  readonly timeS: Float64Array;
  readonly values: Readonly<Record<SampleKey, Float64Array>>;
  /** Silence longer than this is a gap, seconds. */
  readonly gapS: number;
}

/** What a chart draws: shared times, and for each channel a value, or null where a line must break. */
export interface DrawnSpan {
  /** Width of a bucket, seconds; 0: the rows as they are. */
  readonly stepS: number;
  readonly timeS: number[];
  readonly values: Partial<Record<SampleKey, (number | null)[]>>;
}

/** Samples in rising time. */
export function columnsOf(samples: Iterable<Sample>): Columns {
  let size = 1 << 14;
  let timeS = new Float64Array(size);
  let columns = sampleKeys.map(() => new Float64Array(size));
  let n = 0;
  for (const sample of samples) {
    if (n === size) {
      size *= 2;
      timeS = grown(timeS, size);
      columns = columns.map((c) => grown(c, size));
    }
    timeS[n] = sample.timeS;
    for (let c = 0; c < columns.length; c++) {
      const key = sampleKeys[c];
      const column = columns[c];
      if (key && column) column[n] = sample[key] ?? Number.NaN;
    }
    n += 1;
  }
  const of = (key: SampleKey): Float64Array => (columns[sampleKeys.indexOf(key)] ?? timeS).slice(0, n);
  const times = timeS.slice(0, n);
  return {
    timeS: times,
    values: {
      turbidityNtu: of('turbidityNtu'),
      turbidityOutNtu: of('turbidityOutNtu'),
      flowLpm: of('flowLpm'),
      pressureBar: of('pressureBar'),
      supplyC: of('supplyC'),
      returnC: of('returnC'),
      conductivityUsCm: of('conductivityUsCm'),
    },
    gapS: gapLimitS(times),
  };
}

/** The samples again, as the core takes them. */
export function* samplesOf(columns: Columns): Iterable<Sample> {
  const { timeS, values } = columns;
  const at = (key: SampleKey, i: number): number | null => {
    const value = values[key][i];
    return value === undefined || Number.isNaN(value) ? null : value;
  };
  for (let i = 0; i < timeS.length; i++) {
    yield {
      timeS: timeS[i] ?? 0,
      turbidityNtu: at('turbidityNtu', i),
      turbidityOutNtu: at('turbidityOutNtu', i),
      flowLpm: at('flowLpm', i),
      pressureBar: at('pressureBar', i),
      supplyC: at('supplyC', i),
      returnC: at('returnC', i),
      conductivityUsCm: at('conductivityUsCm', i),
    };
  }
}

function grown(from: Float64Array, size: number): Float64Array<ArrayBuffer> {
  const to = new Float64Array(size);
  to.set(from);
  return to;
}

/** Two and a half usual periods, at least half a second; the usual one is the median of the first thousand. */
function gapLimitS(timeS: Float64Array): number {
  const steps: number[] = [];
  for (let i = 1; i < Math.min(timeS.length, 1001); i++) steps.push((timeS[i] ?? 0) - (timeS[i - 1] ?? 0));
  steps.sort((a, b) => a - b);
  return Math.max(0.5, 2.5 * (steps[steps.length >> 1] ?? 0));
}

/** First row at or after a time. */
export function rowAt(timeS: Float64Array, t: number): number {
  let low = 0;
  let high = timeS.length;
  while (low < high) {
    const middle = (low + high) >> 1;
    if ((timeS[middle] ?? 0) < t) low = middle + 1;
    else high = middle;
  }
  return low;
}

/** Width of a bucket: the least power of two of seconds that needs no more than `buckets` over the span. */
export function stepFor(spanS: number, buckets: number): number {
  return 2 ** Math.ceil(Math.log2(Math.max(1e-3, spanS / Math.max(1, buckets))));
}

/**
 * Rows of a span for drawing, with the next row on either side, so that a line enters and leaves. Where rows stand
 * closer than `buckets` allows, each bucket gives its smallest and its largest value in their order: no spike is ever
 * hidden. Buckets lie at whole multiples of their width, whatever span is asked for, so that a chart that is moved along
 * shows the same picture. A silence breaks the line.
 */
export function decimate(
  columns: Columns,
  keys: readonly SampleKey[],
  fromS: number,
  toS: number,
  buckets: number,
): DrawnSpan {
  const { timeS, values, gapS } = columns;
  const stepS = stepFor(toS - fromS, buckets);
  const from = Math.max(0, rowAt(timeS, Math.floor(fromS / stepS) * stepS) - 1);
  const to = Math.min(timeS.length, rowAt(timeS, (Math.floor(toS / stepS) + 1) * stepS) + 1);
  const isExact = to - from <= 2 * buckets;
  const out: number[] = [];
  const ys = keys.map((): (number | null)[] => []);
  const used = keys.map((key) => values[key]);
  let previousS = Number.NaN;
  for (let i = from; i < to; ) {
    const firstS = timeS[i] ?? 0;
    if (firstS - previousS > gapS) {
      out.push((firstS + previousS) / 2);
      for (const y of ys) y.push(null);
    }
    let end = i + 1;
    if (!isExact) {
      const untilS = (Math.floor(firstS / stepS) + 1) * stepS;
      while (end < to && (timeS[end] ?? 0) < untilS && (timeS[end] ?? 0) - (timeS[end - 1] ?? 0) <= gapS) end += 1;
    }
    const lastS = timeS[end - 1] ?? firstS;
    out.push(firstS);
    if (end - i > 1) out.push(lastS);
    for (let c = 0; c < used.length; c++) addExtremes(ys[c] ?? [], used[c] ?? timeS, i, end);
    previousS = lastS;
    i = end;
  }
  const drawn: Partial<Record<SampleKey, (number | null)[]>> = {};
  for (const [c, key] of keys.entries()) drawn[key] = ys[c] ?? [];
  return { stepS: isExact ? 0 : stepS, timeS: out, values: drawn };
}

/** Smallest and largest of rows `from` to `end`, in their order; one value for one row. */
function addExtremes(y: (number | null)[], column: Float64Array, from: number, end: number): void {
  let low = -1;
  let high = -1;
  let least = Number.POSITIVE_INFINITY;
  let most = Number.NEGATIVE_INFINITY;
  for (let i = from; i < end; i++) {
    const value = column[i] ?? Number.NaN;
    if (value < least) [least, low] = [value, i];
    if (value > most) [most, high] = [value, i];
  }
  const single = end - from === 1;
  if (low < 0) y.push(...(single ? [null] : [null, null]));
  else if (single) y.push(least);
  else y.push(...(low < high ? [least, most] : [most, least]));
}
