import uPlot from 'uplot';
import 'uplot/dist/uPlot.min.css';
import type { TraceColumn } from '../../src/server/protocol.ts';
import { clockText } from './format.ts';
import { type PlotColumn, plotData, type Span } from './plot-data.ts';
import { colour, type Token } from './theme.ts';
import type { TraceBuffer } from './trace-buffer.ts';

/** The one wrapper of the chart library: nothing else imports it. */
export interface Line {
  readonly column: TraceColumn;
  readonly token: Token;
  /** CSS pixels. */
  readonly width: number;
  readonly dash?: readonly number[];
  /**
   * As upright strokes, one for each pixel column from its smallest to its largest value: for many rows to the pixel, where
   * it looks the same as a line and costs a tenth of it.
   */
  readonly dense?: boolean;
}

export type YAxis =
  /** Whole decades from `lo` to `hi`, never zero; values under `lo` are drawn at it. */
  | { readonly kind: 'log'; readonly lo: number; readonly hi: number }
  /** Fixed range, which only the caller changes. */
  | { readonly kind: 'linear'; readonly range: () => readonly [number, number] };

/** What a layer draws on: canvas pixels, with `px` of them to one CSS pixel. */
export interface Paper {
  readonly ctx: CanvasRenderingContext2D;
  readonly px: number;
  readonly left: number;
  readonly top: number;
  readonly right: number;
  readonly bottom: number;
  x(timeS: number): number;
  /** Seconds at a place of the canvas. */
  time(x: number): number;
  y(value: number): number;
}
export type Layer = (paper: Paper) => void;

export interface ChartOptions {
  readonly lines: readonly Line[];
  readonly y: YAxis;
  /** Axes with labels, or a bare trace. */
  readonly axes: boolean;
  /** Room above the plot for the marks of events, CSS pixels. */
  readonly laneTop?: number;
  /** Size of the words on the axes, CSS pixels; 18 unless told otherwise. */
  readonly text?: number;
  /** False: the times are told by another chart below. */
  readonly times?: boolean;
  /** A moment on the axis in words; minutes and seconds unless told otherwise. */
  readonly timeText?: (timeS: number) => string;
  readonly under?: Layer;
  readonly over?: Layer;
}

export interface Chart {
  draw(buffer: TraceBuffer, span: Span, originS: number): void;
  /** Rows that were decimated elsewhere: times, then the values of each line. */
  show(data: readonly [readonly number[], ...(readonly PlotColumn[])], span: Span): void;
  /** Another span of the rows that it has. */
  move(span: Span): void;
  /** Seconds at a place on the screen, clamped to what is shown. */
  timeAt(clientX: number): number;
  /** After a change of theme. */
  restyle(): void;
  destroy(): void;
}

const axisText = 18;

function paperOf(u: uPlot): Paper {
  const { left, top, width, height } = u.bbox;
  return {
    ctx: u.ctx,
    px: uPlot.pxRatio,
    left,
    top,
    right: left + width,
    bottom: top + height,
    x: (timeS) => u.valToPos(timeS, 'x', true),
    time: (x) => u.posToVal(x, 'x', true),
    y: (value) => u.valToPos(value, 'y', true),
  };
}

/** Ticks at whole steps from the origin, so that they move with the water and do not slide under it. */
function timeSplits(u: uPlot, originS: number, text: number): number[] {
  const fromS = u.scales['x']?.min ?? 0;
  const toS = u.scales['x']?.max ?? 1;
  const wanted = Math.max(2, Math.floor(u.bbox.width / uPlot.pxRatio / (6.1 * text)));
  const stepS = [1, 2, 5, 10, 20, 30, 60, 120, 300, 600, 1800, 3600].find((s) => (toS - fromS) / s <= wanted) ?? 7200;
  const ticks: number[] = [];
  for (let k = Math.ceil((fromS - originS) / stepS); originS + k * stepS <= toS; k += 1)
    ticks.push(originS + k * stepS);
  return ticks;
}

/** Room at the right of the lines, for half a word of the time axis. */
const rightPx = 18;

/** Whether a word of that width is not cut by the edge of the chart. */
function isWhole(u: uPlot, timeS: number, widthPx: number): boolean {
  return u.valToPos(timeS, 'x') + widthPx / 2 <= u.bbox.width / uPlot.pxRatio + rightPx;
}

function decades(lo: number, hi: number): number[] {
  const ticks: number[] = [];
  for (let power = Math.ceil(Math.log10(lo)); 10 ** power <= hi; power += 1) ticks.push(10 ** power);
  return ticks;
}

function axes(options: ChartOptions, origin: () => number): uPlot.Axis[] {
  if (!options.axes) return [{ show: false }, { show: false }];
  const text = options.text ?? axisText;
  const words = options.timeText ?? ((timeS: number) => clockText(timeS - origin()));
  const shared = {
    stroke: () => colour('quiet'),
    font: `${text}px system-ui, sans-serif`,
    ticks: { show: false },
    border: { show: false },
  };
  const { y } = options;
  return [
    {
      ...shared,
      show: options.times ?? true,
      size: Math.round(1.55 * text),
      gap: 4,
      grid: { show: false },
      splits: (u) => timeSplits(u, origin(), text),
      values: (u, splits) =>
        splits.map((timeS) => (isWhole(u, timeS, 0.6 * text * words(timeS).length) ? words(timeS) : '')),
    },
    {
      ...shared,
      size: Math.round(3.55 * text),
      gap: 8,
      // Lanes under one another are low: few lines, and never words on one another.
      ...(options.text === undefined ? {} : { space: 1.8 * text }),
      grid: { stroke: () => colour('hair'), width: 0.5 },
      ...(y.kind === 'log'
        ? {
            splits: () => decades(y.lo, y.hi),
            values: (_u: uPlot, s: (number | null)[]) => s.map((v) => (v === null ? '' : String(v))),
          }
        : {}),
    },
  ];
}

/** Rows of a line that are shown, where they stand so dense that they are drawn as bars; null: drawn as a line. */
type DenseRows = { from: number; to: number } | null;

/** A line where rows stand apart; where they are dense, nothing: `drawDense` draws them. */
function lineUnlessDense(dense: DenseRows[], at: number): uPlot.Series.PathBuilder {
  const asLine = uPlot.paths.linear?.();
  return (u, seriesIdx, from, to) => {
    dense[at] = to - from < u.bbox.width / uPlot.pxRatio ? null : { from, to };
    return dense[at] !== null || !asLine ? null : asLine(u, seriesIdx, from, to);
  };
}

/**
 * Each pixel column as a bar from its smallest to its largest value, joined to the column before; `null` breaks it.
 * Bars one by one on whole pixels: a path of as many corners takes a browser without a graphics chip 80 ms.
 */
function drawDense(u: uPlot, seriesIdx: number, line: Line, rows: DenseRows): void {
  if (rows === null) return;
  const { ctx, bbox } = u;
  const [xs, ys] = [u.data[0], u.data[seriesIdx] ?? []];
  const { from, to } = rows;
  const leftS = u.scales['x']?.min ?? 0;
  const perS = bbox.width / Math.max(1e-9, (u.scales['x']?.max ?? 1) - leftS);
  const wide = Math.max(1, Math.round(uPlot.pxRatio));
  const thick = Math.max(1, Math.round(line.width * uPlot.pxRatio));
  let column = Number.NaN;
  let [low, high, last] = [0, 0, 0];
  ctx.save();
  ctx.beginPath();
  ctx.rect(bbox.left, bbox.top, bbox.width, bbox.height);
  ctx.clip();
  ctx.fillStyle = colour(line.token);
  const bar = (): void => {
    if (!Number.isNaN(column)) ctx.fillRect(column, low, wide, high - low + thick);
  };
  for (let i = from; i <= to; i += 1) {
    const value = ys[i];
    if (value === null || value === undefined) {
      bar();
      column = Number.NaN;
      continue;
    }
    const x = Math.round(bbox.left + ((xs[i] ?? 0) - leftS) * perS);
    const y = Math.round(u.valToPos(value, 'y', true));
    if (x === column) {
      if (y < low) low = y;
      if (y > high) high = y;
    } else {
      bar();
      let before = last;
      // Columns between two rows are crossed on the way, as a line would.
      for (let step = 1; column + step < x; step += 1) {
        const here = Math.round(last + ((y - last) * step) / (x - column));
        ctx.fillRect(column + step, Math.min(before, here), wide, Math.abs(here - before) + thick);
        before = here;
      }
      [low, high] = Number.isNaN(column) ? [y, y] : [Math.min(y, before), Math.max(y, before)];
      column = x;
    }
    last = y;
  }
  bar();
  ctx.restore();
}

function build(host: HTMLElement, options: ChartOptions, span: () => Span, origin: () => number): uPlot {
  const { y } = options;
  const dense: DenseRows[] = options.lines.map(() => null);
  const scale: uPlot.Scale =
    y.kind === 'log'
      ? { distr: 3, log: 10, auto: false, range: () => [y.lo, y.hi] }
      : { auto: false, range: () => [y.range()[0], y.range()[1]] };
  return new uPlot(
    {
      width: Math.max(50, host.clientWidth),
      height: Math.max(30, host.clientHeight),
      // Half a word hangs below the lowest line where no axis stands there.
      padding: options.axes ? [options.laneTop ?? 8, rightPx, options.times === false ? 8 : 0, 0] : [4, 2, 4, 2],
      cursor: { show: false },
      legend: { show: false },
      select: { show: false, left: 0, top: 0, width: 0, height: 0 },
      scales: { x: { time: false, auto: false, range: () => [span().fromS, span().toS] }, y: scale },
      axes: axes(options, origin),
      series: [
        {},
        ...options.lines.map((line, at) => ({
          stroke: () => colour(line.token),
          width: line.width,
          points: { show: false },
          ...(line.dense ? { paths: lineUnlessDense(dense, at) } : {}),
          ...(line.dash ? { dash: [...line.dash] } : {}),
        })),
      ],
      hooks: {
        drawClear: [(u) => options.under?.(paperOf(u))],
        drawSeries: [
          (u, i) => {
            const line = options.lines[i - 1];
            if (line?.dense) drawDense(u, i, line, dense[i - 1] ?? null);
          },
        ],
        draw: [(u) => options.over?.(paperOf(u))],
      },
    },
    [[0], ...options.lines.map(() => [null])],
    host,
  );
}

export function createChart(host: HTMLElement, options: ChartOptions): Chart {
  let span: Span = { fromS: 0, toS: 1 };
  let originS = 0;
  const plot = build(
    host,
    options,
    () => span,
    () => originS,
  );
  const watcher = new ResizeObserver(() => {
    if (host.clientWidth > 0 && host.clientHeight > 0)
      plot.setSize({ width: host.clientWidth, height: host.clientHeight });
  });
  watcher.observe(host);
  const columns = options.lines.map((line) => line.column);
  const floor = options.y.kind === 'log' ? options.y.lo : undefined;
  return {
    draw(buffer, nextSpan, nextOriginS) {
      span = nextSpan;
      originS = nextOriginS;
      // At most two rows for each pixel column.
      const data: [number[], ...PlotColumn[]] = plotData(
        buffer,
        span,
        columns,
        2 * Math.max(100, host.clientWidth),
        floor,
      );
      plot.setData(data);
    },
    show(data, nextSpan) {
      span = nextSpan;
      const [times, ...values] = data;
      const lifted =
        floor === undefined ? values : values.map((y) => y.map((v) => (v !== null && v < floor ? floor : v)));
      plot.setData([[...times], ...lifted.map((y) => [...y])]);
    },
    move(nextSpan) {
      span = nextSpan;
      plot.setScale('x', { min: span.fromS, max: span.toS });
    },
    timeAt(clientX) {
      const left = clientX - plot.over.getBoundingClientRect().left;
      return plot.posToVal(Math.min(plot.over.clientWidth, Math.max(0, left)), 'x');
    },
    restyle: () => plot.redraw(false),
    destroy() {
      watcher.disconnect();
      plot.destroy();
    },
  };
}
