import fc from 'fast-check';
import { describe, expect, test } from 'vitest';
import { decimate, type Point } from '../../../src/report/chart/decimate.ts';
import { hatchLines } from '../../../src/report/chart/picture.ts';
import { evenScale, logScale, timeTicks } from '../../../src/report/chart/scale.ts';
import { placeOf, traceChart } from '../../../src/report/chart/trace-chart.ts';
import { figure } from '../../../src/report/fact.ts';
import { qrPicture } from '../../../src/report/qr.ts';

const value = fc.double({ min: 0.01, max: 20000, noNaN: true });

test('figures have about three digits, and small ones stay figures', () => {
  const shown = [0, 0.00124, 0.05, 0.5, 3.456, 45.67, 1234.5, -0.001].map((v) => figure(v, 'l'));
  expect(shown).toEqual(['0 l', '0.0012 l', '0.05 l', '0.50 l', '3.46 l', '45.7 l', '1235 l', '-0.001 l']);
});

describe('scales', () => {
  test('a log scale holds every value and grows with it', () => {
    fc.assert(
      fc.property(fc.array(value, { minLength: 1, maxLength: 20 }), (values) => {
        const scale = logScale(values, 0.01);
        expect(scale.low).toBeLessThanOrEqual(Math.min(...values) * (1 + 1e-9));
        expect(scale.high).toBeGreaterThanOrEqual(Math.max(...values) * (1 - 1e-9) - 1e-9);
        const sorted = values.toSorted((a, b) => a - b).map((v) => scale.place(v));
        expect(sorted).toEqual(sorted.toSorted((a, b) => a - b));
      }),
      { seed: 1 },
    );
  });

  test('equal ratios are equal steps, and ends are round', () => {
    const scale = logScale([6, 430], 1);
    expect([scale.low, scale.high]).toEqual([5, 500]);
    expect(scale.place(50) - scale.place(5)).toBeCloseTo(scale.place(500) - scale.place(50), 12);
    expect(logScale([1, 1000], 1).ticks.map((t) => t.text)).toEqual(['1', '10', '100', '1000']);
    expect(logScale([20, 80], 1).ticks.map((t) => t.text)).toEqual(['20', '50', '100', '200']);
  });

  test('an even scale begins at nought or under the least, with few marks', () => {
    fc.assert(
      fc.property(fc.array(fc.double({ min: -5, max: 1e5, noNaN: true }), { minLength: 1, maxLength: 9 }), (values) => {
        const scale = evenScale(values);
        expect(scale.low).toBeLessThanOrEqual(Math.min(0, ...values) + 1e-9);
        expect(scale.high).toBeGreaterThanOrEqual(Math.max(...values) * (1 - 1e-9) - 1e-9);
        expect(scale.ticks.length).toBeLessThanOrEqual(7);
      }),
      { seed: 2 },
    );
  });

  test('moments are round and inside the span', () => {
    expect(timeTicks(65, 400, 6).map((t) => t.text)).toEqual(['2', '3', '4', '5', '6']);
    expect(timeTicks(0, 7200, 5).map((t) => t.text)).toEqual(['0:00', '0:30', '1:00', '1:30', '2:00']);
  });
});

describe('a decimated trace', () => {
  const trace = fc.array(fc.tuple(fc.double({ min: 0, max: 1000, noNaN: true }), fc.option(value)), { maxLength: 300 });

  test('keeps the least and the greatest value, and is no longer than its columns', () => {
    fc.assert(
      fc.property(trace, fc.integer({ min: 2, max: 50 }), (rows, columns) => {
        const points: Point[] = rows.toSorted((a, b) => a[0] - b[0]);
        const values = points.flatMap(([, v]) => (v === null ? [] : [v]));
        const drawn = decimate(points, 0, 1000, columns, 1e9).flat();
        const all = drawn.flatMap((c) => [c.first, c.second]);
        expect(drawn.length).toBeLessThanOrEqual(columns);
        expect(all.length === 0).toBe(values.length === 0);
        expect(Math.max(0, ...all)).toBe(Math.max(0, ...values));
        expect(Math.min(1e9, ...all)).toBe(Math.min(1e9, ...values));
      }),
      { seed: 3 },
    );
  });

  test('is broken where readings are missing for longer than the gap', () => {
    const points: Point[] = [
      [0, 1],
      [5, 2],
      [40, 3],
      [44, 4],
    ];
    expect(decimate(points, 0, 50, 100, 10)).toHaveLength(2);
    expect(decimate(points, 0, 50, 100, 60)).toHaveLength(1);
  });
});

describe('a trace chart', () => {
  const chart = {
    width: 240,
    height: 100,
    fromS: 100,
    toS: 200,
    scale: logScale([1, 100], 1),
    unit: 'NTU',
    curves: [
      {
        points: [[100, 1] as const, [150, 10] as const, [200, 100] as const],
        ink: 'trace' as const,
        width: 1,
        gapS: 60,
      },
    ],
    passesS: [150],
    peaks: [[200, 100] as const],
    hatched: [[100, 125] as const],
    bars: [[175, 200] as const],
    alt: 'three readings',
  };
  const { plot, x, y } = placeOf(chart);
  const { shapes } = traceChart(chart);

  test('puts each thing where its time and value are', () => {
    expect([x(100), x(150), x(200)]).toEqual([plot.x, plot.x + plot.w / 2, plot.x + plot.w]);
    expect([y(1), y(10), y(100)]).toEqual([plot.y + plot.h, plot.y + plot.h / 2, plot.y]);
    expect(shapes).toContainEqual({ kind: 'hatch', x: plot.x, y: plot.y, w: plot.w / 4, h: plot.h });
    expect(shapes).toContainEqual({ kind: 'ring', x: x(200), y: y(100), r: 2.2, ink: 'accent' });
    const bar = shapes.find((s) => s.kind === 'rect');
    expect(bar).toMatchObject({ x: x(175), w: plot.w / 4 });
  });

  test('stays inside its frame', () => {
    for (const shape of shapes) {
      if (shape.kind !== 'line') continue;
      for (const [i, at] of shape.points.entries()) expect(at).toBeLessThanOrEqual(i % 2 === 0 ? 240 : 100);
    }
  });

  test('a hatch stays inside its rectangle', () => {
    fc.assert(
      fc.property(
        fc.double({ min: 1, max: 300, noNaN: true }),
        fc.double({ min: 1, max: 300, noNaN: true }),
        (w, h) => {
          for (const [x1 = 0, y1 = 0, x2 = 0, y2 = 0] of hatchLines(10, 20, w, h)) {
            expect(Math.min(x1, x2)).toBeGreaterThanOrEqual(10 - 1e-9);
            expect(Math.max(x1, x2)).toBeLessThanOrEqual(10 + w + 1e-9);
            expect(Math.min(y1, y2)).toBeGreaterThanOrEqual(20 - 1e-9);
            expect(Math.max(y1, y2)).toBeLessThanOrEqual(20 + h + 1e-9);
          }
        },
      ),
      { seed: 4 },
    );
  });
});

test('a code for a camera is square, has its quiet zone, and says its text in words', () => {
  const picture = qrPicture('limpid', 100);
  expect([picture.width, picture.height]).toEqual([100, 100]);
  expect(picture.alt).toContain('limpid');
  const least = Math.min(...picture.shapes.map((s) => (s.kind === 'rect' ? s.x : 100)));
  const module = Math.min(...picture.shapes.map((s) => (s.kind === 'rect' ? s.h : 100)));
  expect(least).toBeCloseTo(4 * module, 9);
});
