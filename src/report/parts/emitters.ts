import { between } from '../../core/quantity/in-time.ts';
import { coverage } from '../../core/quantity/interval.ts';
import { toShown } from '../../core/quantity/units.ts';
import type { Block, Section } from '../block.ts';
import { contentWidth } from '../block.ts';
import type { Picture } from '../chart/picture.ts';
import { logScale } from '../chart/scale.ts';
import { traceChart } from '../chart/trace-chart.ts';
import { count, duration, figure, moment } from '../fact.ts';
import { type VisitFigures } from '../../core/audit/gather.ts';
import type { Gathered } from '../gather.ts';
import { sentence, unitOf } from '../in-units.ts';
import { type EmitterRow, emitterRows, resultWords } from './emitter-rows.ts';

export function emitterSection(g: Gathered): Section {
  const rows = emitterRows(g);
  return {
    id: 'emitters',
    title: 'Emitter by emitter',
    // Its table and the first row of traces.
    room: 260 + 17 * rows.length,
    blocks: [
      {
        kind: 'text',
        text: 'Clear: the water of the last pass had gone by and the excess over the background was under the clear level. Done: the last pass brought nothing. Solids are an estimate from turbidity, by a rule of thumb, with two standard uncertainties.',
      },
      table(g, rows),
      ...traces(g, rows),
    ],
  };
}

function table(g: Gathered, rows: readonly EmitterRow[]): Block {
  return {
    kind: 'table',
    caption: 'Visits',
    columns: [
      { title: 'Emitter', share: 0.2 },
      { title: 'From', share: 0.1, end: true },
      { title: 'Time', share: 0.09, end: true },
      { title: 'Passes', share: 0.08, end: true },
      { title: 'Pulses', share: 0.08, end: true },
      { title: 'Peak, NTU', share: 0.1, end: true },
      { title: `Water, ${unitOf(g, 'volume')}`, share: 0.09, end: true },
      { title: 'Solids, g', share: 0.12, end: true },
      { title: 'Result', share: 0.14 },
    ],
    rows: rows.flatMap((r) =>
      r.visits.length === 0
        ? [[r.name, '-', '-', '-', '-', '-', '-', '-', resultWords[r.result]]]
        : r.visits.map((v) => visitRow(g, r, v)),
    ),
    none: 'No emitter was worked on.',
  };
}

function peakOf({ visit }: VisitFigures): number | null {
  const peaks = visit.pulses.flatMap((p) => (p.peakNtu === null ? [] : [p.peakNtu]));
  return peaks.length === 0 ? null : Math.max(...peaks);
}

/** How a visit stood when it ended; only the last one of an emitter can have been skipped after it. */
function visitResult(row: EmitterRow, v: VisitFigures): EmitterRow['result'] {
  if (v === row.visits.at(-1)) return row.result;
  const { verdict, withheld } = v.visit;
  if (verdict.state === 'clear') return verdict.done ? 'done' : 'clear';
  return withheld ? 'cannot-tell' : 'not-clear';
}

function visitRow(g: Gathered, row: EmitterRow, v: VisitFigures): string[] {
  const peak = peakOf(v);
  const least = v.isLeast ? 'at least ' : '';
  return [
    row.visits.length > 1 ? `${row.name}, visit ${v.visit.visit}` : row.name,
    moment(v.visit.fromS),
    duration(v.toS - v.visit.fromS),
    String(v.visit.passesS.length),
    String(v.visit.pulses.length),
    peak === null ? 'none' : figure(peak, ''),
    v.litres === null ? 'no flow' : `${least}${figure(toShown(v.litres, unitOf(g, 'volume')), '')}`,
    v.solidsG === null ? 'unknown' : `${least}${figure(v.solidsG.value, '')} ±${figure(coverage * v.solidsG.u, '')}`,
    resultWords[visitResult(row, v)],
  ];
}

function traces(g: Gathered, rows: readonly EmitterRow[]): Block[] {
  const items = rows.flatMap((row) =>
    row.visits.map((v) => ({
      title: `${row.name}${row.visits.length > 1 ? `, visit ${v.visit.visit}` : ''}: ${resultWords[visitResult(row, v)]}`,
      note: reasonOf(g, v),
      picture: visitPicture(g, row.name, v),
    })),
  );
  if (items.length === 0) return [];
  const caption =
    'Turbidity of each visit, NTU on a log scale, minutes of the run. Line: reading. Dashes: background. Dots: clear level. Wedges: passes. Rings: peaks. Bar along the foot: clear. Hatched: nothing could be told.';
  return [{ kind: 'pictures', caption, items }];
}

function reasonOf(g: Gathered, { visit }: VisitFigures): string {
  const { code, figures } = visit.verdict.reason;
  const finite = Object.entries(figures).filter(([, value]) => Number.isFinite(value));
  return sentence(g, { code, params: Object.fromEntries(finite) });
}

function visitPicture(g: Gathered, name: string, v: VisitFigures): Picture {
  const { visit, toS } = v;
  const fromS = visit.fromS;
  const samples = between(g.input.samples, fromS, toS);
  const levels = g.driven.levels.filter((l) => l.timeS >= fromS && l.timeS <= toS);
  const values = samples.flatMap((s) => (s.turbidityNtu === null ? [] : [s.turbidityNtu]));
  const shown = [...values, ...levels.flatMap((l) => (l.backgroundNtu === null ? [] : [l.backgroundNtu]))];
  const ends = [shown.reduce((a, b) => Math.min(a, b), 10), shown.reduce((a, b) => Math.max(a, b), 10)];
  const clears = visit.clears.map((c): [number, number] => [c.fromS, c.toS ?? toS]);
  const hatched = g.driven.spans.flatMap((s): [number, number][] => {
    const to = s.toS ?? g.endS;
    return s.state === 'cannot-tell' && to > fromS && s.fromS < toS ? [[s.fromS, to]] : [];
  });
  const peak = peakOf(v);
  const clearWords = clears.length === 0 ? 'never shown clear' : `shown clear ${count(clears.length, 'time')}`;
  return traceChart({
    width: (contentWidth - 14) / 2,
    height: 96,
    fromS,
    toS: Math.max(toS, fromS + 1),
    scale: logScale(ends, 1),
    unit: 'NTU',
    curves: [
      {
        points: levels.map((l) => [l.timeS, l.backgroundNtu] as const),
        ink: 'hair',
        width: 0.7,
        dash: [4, 2],
        gapS: 15,
      },
      { points: levels.map((l) => [l.timeS, l.clearNtu] as const), ink: 'good', width: 0.8, dash: [1, 1.6], gapS: 15 },
      { points: samples.map((s) => [s.timeS, s.turbidityNtu] as const), ink: 'trace', width: 0.7, gapS: 10 },
    ],
    passesS: visit.passesS,
    peaks: visit.pulses.flatMap((p): [number, number][] =>
      p.peakS === null || p.peakNtu === null ? [] : [[p.peakS, p.peakNtu]],
    ),
    hatched,
    bars: clears,
    alt: `${name}, visit ${visit.visit}: ${duration(toS - fromS)}, ${count(visit.passesS.length, 'pass', 'passes')}, ${count(visit.pulses.length, 'pulse')}${peak === null ? '' : `, highest ${figure(peak, 'NTU')}`}, ${clearWords}.`,
  });
}
