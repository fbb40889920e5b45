import fc from 'fast-check';
import { describe, expect, it } from 'vitest';
import { decimate, Trace } from '../../../src/run/trace.ts';
import type { TraceRow } from '../../../src/server/protocol.ts';

const row = (timeS: number, ntu: number | null, flow: number | null = null): TraceRow => [
  timeS,
  ntu,
  flow,
  null,
  null,
  null,
  null,
  null,
  null,
  null,
];
const value = fc.option(fc.double({ min: -20, max: 20000, noNaN: true }), { nil: null });
const anyRows = fc
  .array(fc.tuple(value, value), { maxLength: 400 })
  .map((list) => list.map(([ntu, flow], i) => row(i * 0.1, ntu, flow)));

describe('the trace', () => {
  it('gives back what was added, nulls as nulls', () => {
    const trace = new Trace();
    trace.add(row(1, 5));
    trace.add(row(2, null));
    trace.add(row(3, 7, 0));
    expect(trace.between(0, 9)).toEqual([row(1, 5), row(2, null), row(3, 7, 0)]);
    expect(trace.between(1.5, 2.5)).toEqual([row(2, null)]);
    expect(trace.firstS).toBe(1);
  });

  it('forgets the oldest when it is full, and grows until then', () => {
    const trace = new Trace(10_000);
    for (let i = 0; i < 25_000; i++) trace.add(row(i, i));
    expect(trace.rows).toBe(10_000);
    expect(trace.firstS).toBe(15_000);
    expect(trace.between(0, 1e9).map((r) => r[0])).toEqual(Array.from({ length: 10_000 }, (_, i) => 15_000 + i));
  });
});

describe('decimate', () => {
  it('hides no spike: smallest and largest of each column are those of all rows', () => {
    fc.assert(
      fc.property(anyRows, fc.integer({ min: 2, max: 100 }), (rows, points) => {
        const few = decimate(rows, points);
        for (const c of [1, 2]) {
          const of = (list: TraceRow[]): number[] => list.flatMap((r) => (r[c] === null ? [] : [r[c] ?? 0]));
          const ends = (list: number[]): number[] => (list.length > 0 ? [Math.min(...list), Math.max(...list)] : []);
          expect(ends(of(few))).toEqual(ends(of(rows)));
        }
      }),
    );
  });

  it('keeps to about the points asked for, in rising time, from the first row to the last', () => {
    fc.assert(
      fc.property(anyRows, fc.integer({ min: 2, max: 100 }), (rows, points) => {
        const few = decimate(rows, points);
        expect(few.length).toBeLessThanOrEqual(points + 2);
        expect(few.every((r, i) => i === 0 || r[0] > (few[i - 1]?.[0] ?? 0))).toBe(true);
        expect([few[0]?.[0], few.at(-1)?.[0]]).toEqual([rows[0]?.[0], rows.at(-1)?.[0]]);
      }),
    );
  });

  it('leaves few rows as they are', () => {
    const rows = [row(1, 1), row(2, null), row(3, 3)];
    expect(decimate(rows, 10)).toEqual(rows);
  });

  it('shows a gap that fills a stretch', () => {
    const rows = Array.from({ length: 300 }, (_, i) => row(i, i >= 100 && i < 200 ? null : 1));
    expect(decimate(rows, 30).filter((r) => r[1] === null).length).toBeGreaterThan(5);
  });
});
