import type { TraceRow } from '../server/protocol.ts';
import type { RunStore } from '../store/store.ts';
import { decimate, type Trace, traceRow, withLate } from './trace.ts';

/** Rows of a span: what memory holds, before it what the store holds, and what came late; with `points` decimated. */
export function wholeTrace(
  trace: Trace,
  store: RunStore,
  fromS: number,
  toS: number,
  points?: number,
): { rows: TraceRow[]; decimated: boolean } {
  const inTime = [...forgotten(trace, store, fromS, toS), ...trace.between(fromS, toS)];
  const rows = withLate(inTime, store.late(fromS, toS));
  if (points === undefined || rows.length <= points) return { rows, decimated: false };
  return { rows: decimate(rows, points), decimated: true };
}

/** Rows that the trace has forgotten come from the store, without the background of that time. */
function forgotten(trace: Trace, store: RunStore, fromS: number, toS: number): TraceRow[] {
  const until = Math.min(toS, trace.firstS ?? Number.NEGATIVE_INFINITY);
  if (fromS >= until) return [];
  const rows: TraceRow[] = [];
  for (const s of store.samples(fromS, until)) if (s.timeS < until) rows.push(traceRow(s, null, null));
  return rows;
}
