import fc from 'fast-check';
import { describe, expect, it } from 'vitest';
import { gapSpans, plotData } from '../../../dashboards/shared/plot-data.ts';
import { TraceBuffer } from '../../../dashboards/shared/trace-buffer.ts';
import type { TraceRow } from '../../../src/server/protocol.ts';

const row = (timeS: number, ntu: number | null): TraceRow => [timeS, ntu, 10, 1, 60, 50, 800, null, 9, 15];
const steady = (n: number, stepS = 0.1) => Array.from({ length: n }, (_, i) => row(i * stepS, i));
const filled = (rows: TraceRow[], limit = 10_000) => {
  const buffer = new TraceBuffer(limit);
  buffer.append(rows);
  return buffer;
};
const all = { fromS: -1e9, toS: 1e9 };

describe('rows of before', () => {
  it('stand before the others, once, as far as there is room', () => {
    const buffer = filled([row(10, 1), row(11, 2)]);
    buffer.prepend([row(8, 5), row(9, 6), row(10, 99)]);
    expect([0, 1, 2, 3].map((i) => buffer.at('timeS', i))).toEqual([8, 9, 10, 11]);
    expect(buffer.at('turbidityNtu', 2)).toBe(1);
    const small = new TraceBuffer(2);
    small.append([row(10, 1), row(11, 2), row(12, 3)]);
    small.prepend([row(8, 5), row(9, 6)]);
    expect(small.firstS).toBe(9);
    expect(small.isFull).toBe(true);
  });

  it('are asked for no more once the record has no older ones, until all is anew', () => {
    const buffer = filled([row(10, 1)]);
    buffer.closeBefore();
    expect(buffer.isFull).toBe(true);
    buffer.replace([row(3, 1)]);
    expect(buffer.isFull).toBe(false);
  });

  it('give the nearest row that has a value', () => {
    const buffer = filled([row(1, 4), row(2, null), row(3, null), row(4, 7)]);
    expect(buffer.nearest('turbidityNtu', 2.2)).toEqual({ timeS: 1, value: 4 });
    expect(buffer.nearest('turbidityNtu', 9)).toEqual({ timeS: 4, value: 7 });
    expect(filled([row(1, null)]).nearest('turbidityNtu', 1)).toBeNull();
  });
});

describe('trace buffer', () => {
  it('keeps each time once, in order, whatever comes twice', () => {
    fc.assert(
      fc.property(fc.array(fc.integer({ min: 0, max: 50 }), { maxLength: 200 }), (times) => {
        const buffer = filled(times.map((t) => row(t, t)));
        const kept = Array.from({ length: buffer.length }, (_, i) => buffer.at('timeS', i));
        expect(kept).toEqual([...kept].sort((a, b) => a - b));
        expect(new Set(kept).size).toBe(kept.length);
        expect(kept.at(-1) ?? -1).toBe(times.length === 0 ? -1 : Math.max(...times));
      }),
    );
  });

  it('keeps the newest rows of a long run in bounded memory', () => {
    const buffer = new TraceBuffer(100);
    for (let i = 0; i < 5000; i += 1) buffer.append([row(i, i)]);
    expect(buffer.length).toBeGreaterThanOrEqual(100);
    expect(buffer.length).toBeLessThanOrEqual(200);
    expect(buffer.lastS).toBe(4999);
    expect(buffer.at('turbidityNtu', buffer.length - 1)).toBe(4999);
  });

  it('finds the newest value of a column, not the newest row', () => {
    expect(filled([row(1, 5), row(2, null), row(3, null)]).lastOf('turbidityNtu')).toEqual({ timeS: 1, value: 5 });
  });
});

describe('plotted arrays', () => {
  it('hold numbers and null only, so that the chart draws no line where nothing was measured', () => {
    const [, ntu = []] = plotData(filled([row(0, 1), row(0.1, null), row(0.2, 3)]), all, ['turbidityNtu'], 1000);
    expect(ntu).toEqual([1, null, 3]);
  });

  it('break where rows are missing, at more than two periods', () => {
    const rows = [...steady(50), row(7, 5), row(7.1, 5)];
    const [times, ntu = []] = plotData(filled(rows), all, ['turbidityNtu'], 1000);
    expect(ntu.filter((value) => value === null)).toHaveLength(1);
    expect(times[ntu.indexOf(null)]).toBeCloseTo((4.9 + 7) / 2);
    const twoMissed = [...steady(50), row(5.1, 5)];
    expect(plotData(filled(twoMissed), all, ['turbidityNtu'], 1000)[1]).not.toContain(null);
  });

  it('keep the highest and the lowest of each bucket, so that a pulse of one sample never disappears', () => {
    fc.assert(
      fc.property(fc.integer({ min: 0, max: 4999 }), fc.integer({ min: 40, max: 2000 }), (at, points) => {
        const rows = steady(5000).map((r, i): TraceRow => row(r[0], i === at ? 4000 : 10));
        const [times, ntu = []] = plotData(filled(rows), all, ['turbidityNtu'], points);
        expect(Math.max(...ntu.map((v) => v ?? 0))).toBe(4000);
        expect(ntu.length).toBeLessThanOrEqual(points + 2);
        expect(times).toEqual([...times].sort((a, b) => a - b));
      }),
      { numRuns: 50 },
    );
  });

  it('draw values under the floor of a log axis at the floor', () => {
    expect(plotData(filled([row(0, -2), row(1, 0), row(2, 7)]), all, ['turbidityNtu'], 100, 0.5)[1]).toEqual([
      0.5, 0.5, 7,
    ]);
  });

  it('are empty for an empty buffer', () => {
    expect(plotData(new TraceBuffer(10), all, ['turbidityNtu', 'flowLpm'], 100)).toEqual([[], [], []]);
  });
});

describe('spans without data', () => {
  it('are found between values and up to now, while other channels go on', () => {
    const rows = steady(300).map((r, i): TraceRow => row(r[0], i > 100 && i < 160 ? null : i > 250 ? null : 5));
    const gaps = gapSpans(filled(rows), 'turbidityNtu', all, 29.9);
    expect(gaps).toHaveLength(2);
    expect(gaps[0]?.fromS).toBeCloseTo(10);
    expect(gaps[0]?.toS).toBeCloseTo(16);
    expect(gaps[1]).toEqual({ fromS: 25, toS: 29.9 });
  });

  it('are none in a steady trace', () => {
    expect(gapSpans(filled(steady(300)), 'turbidityNtu', all, 30)).toEqual([]);
  });
});
