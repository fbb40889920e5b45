import { useEffect, useRef } from 'preact/hooks';
import type { QuantityKind } from '../../src/core/quantity/units.ts';
import type { TraceColumn } from '../../src/server/protocol.ts';
import { createChart, type Line, type Paper } from '../shared/chart.ts';
import { fixedText } from '../shared/format.ts';
import { decimalsOf, outward, unitOf } from '../shared/units.ts';
import { createRange } from '../shared/range.ts';
import { colour } from '../shared/theme.ts';
import { type Phrase, t } from '../shared/words/language.ts';
import { ageOf, buffer, clockMs, linkState, rowsCame } from './model.ts';
import { keepDrawn } from './draw.ts';
import { originS, pointedS, shownSpan } from './span.ts';

interface Small {
  readonly title: Phrase;
  /** Its unit is the run's choice; else `unit`. */
  readonly kind?: QuantityKind;
  readonly unit: string;
  readonly decimals: number;
  readonly usualTop: number;
  readonly lines: readonly Line[];
}

const line = (column: TraceColumn, token: Line['token'], dash?: readonly number[]): Line => ({
  column,
  token,
  width: 2,
  ...(dash ? { dash } : {}),
});

const smalls: readonly Small[] = [
  { title: 'Flow', kind: 'flow', unit: 'l/min', decimals: 1, usualTop: 20, lines: [line('flowLpm', 'flow')] },
  {
    title: 'Pressure',
    kind: 'pressure',
    unit: 'bar',
    decimals: 2,
    usualTop: 3,
    lines: [line('pressureBar', 'pressure', [12, 4])],
  },
  {
    title: 'Supply, return',
    kind: 'temperature',
    unit: '\u00b0C',
    decimals: 0,
    usualTop: 100,
    lines: [line('supplyC', 'temperature'), line('returnC', 'temperature', [3, 3])],
  },
  {
    title: 'Conductivity',
    unit: '\u00b5S/cm',
    decimals: 0,
    usualTop: 2000,
    lines: [line('conductivityUsCm', 'conductivity', [12, 3, 3, 3])],
  },
];

const staleS = 3;

function highest(columns: readonly TraceColumn[]): number | null {
  const span = shownSpan();
  let top: number | null = null;
  for (const column of columns) {
    const values = buffer.column(column);
    for (let i = buffer.indexAt(span.fromS); i < buffer.length; i += 1) {
      const value = values[i] ?? Number.NaN;
      if (!Number.isNaN(value) && (top === null || value > top)) top = value;
    }
  }
  return top;
}

/** The instant that a finger points at in the large chart. */
function drawPointed(paper: Paper): void {
  const { ctx, px, left, right, top, bottom } = paper;
  const x = pointedS.value === null ? Number.NaN : paper.x(pointedS.value);
  if (!(x >= left && x <= right)) return;
  ctx.save();
  ctx.fillStyle = colour('accent');
  ctx.fillRect(x - px, top, 2 * px, bottom - top);
  ctx.restore();
}

function SmallTrace({ small }: { small: Small }) {
  const host = useRef<HTMLDivElement>(null);
  useEffect(() => {
    if (host.current === null) return undefined;
    const range = createRange(small.usualTop);
    const columns = small.lines.map((l) => l.column);
    let top = small.usualTop;
    const chart = createChart(host.current, {
      lines: small.lines,
      y: { kind: 'linear', range: () => [0, top] },
      axes: false,
      over: drawPointed,
    });
    const draw = (): void => {
      top = range.top(highest(columns), performance.now());
      chart.draw(buffer, shownSpan(), originS(null));
    };
    return keepDrawn(chart, draw, 450);
  }, [small]);
  void clockMs.value;
  // Read without following: the figures change with the clock, four times a second, not with every row.
  void rowsCame.peek();
  const atS = pointedS.value;
  const figures = small.lines.map((l) => (atS === null ? buffer.lastOf(l.column) : buffer.nearest(l.column, atS)));
  const old =
    atS === null && (linkState.value !== 'live' || figures.some((f) => f !== null && ageOf(f.timeS) > staleS));
  const digits = small.kind === 'temperature' ? 0 : decimalsOf(small.kind, small.decimals);
  const text = figures
    .map((f) => (f === null ? '\u2013' : fixedText(outward(small.kind, f.value), digits)))
    .join(' / ');
  return (
    <section class={`small${old ? ' is-old' : ''}${atS === null ? '' : ' is-past'}`} aria-label={t(small.title)}>
      <p class="small-title">
        {t(small.title)} <span>{unitOf(small.kind, small.unit)}</span>
      </p>
      <div class="small-row">
        <p class="small-figure">{text}</p>
        <div class="small-plot" ref={host} />
      </div>
    </section>
  );
}

export function SmallTraces() {
  return (
    <div class="smalls">
      {smalls.map((small) => (
        <SmallTrace key={small.title} small={small} />
      ))}
    </div>
  );
}
