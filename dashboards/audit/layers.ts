import type { LookedAtRun } from '../../src/core/audit/page-schema.ts';
import type { Paper } from '../shared/chart.ts';
import { clipped, hatch, line } from '../shared/chart-layers.ts';
import type { Span } from '../shared/plot-data.ts';
import { colour, type Token } from '../shared/theme.ts';

/** What is drawn into the lanes of a run's chart beside its rows. */
export interface Drawn {
  readonly looked: LookedAtRun | null;
  /** Evidence that is looked at. */
  readonly focus: readonly Span[];
}

/** Under the turbidity: where it was clear, and where nothing could be told. */
export function underTurbidity(paper: Paper, { looked }: Drawn): void {
  const { ctx, px } = paper;
  for (const { state, fromS, toS } of looked?.verdicts ?? []) {
    const at = clipped(paper, fromS, toS);
    if (!at) continue;
    if (state === 'clear') {
      ctx.fillStyle = colour('good-soft');
      ctx.fillRect(at[0], paper.top, at[1] - at[0], paper.bottom - paper.top);
      ctx.fillStyle = colour('good');
      ctx.fillRect(at[0], paper.bottom - 4 * px, at[1] - at[0], 4 * px);
    } else if (state === 'cannot-tell') hatch(paper, at[0], at[1], 'hair');
  }
  levels(paper, looked?.levels ?? []);
}

/** Background as dots and clear level as dashes: small bars, for a dashed line of many corners is dear to draw. */
function levels(paper: Paper, rows: LookedAtRun['levels']): void {
  const { ctx, px } = paper;
  const draw = (which: 1 | 2, token: Token, on: number, every: number): void => {
    ctx.fillStyle = colour(token);
    let at = 0;
    for (let x = paper.left; x < paper.right; x += every * px) {
      const timeS = paper.time(x);
      while ((rows[at + 1]?.[0] ?? Number.POSITIVE_INFINITY) <= timeS) at += 1;
      const row = rows[at];
      const value = row !== undefined && row[0] <= timeS ? row[which] : null;
      if (value !== null && value > 0) ctx.fillRect(x, paper.y(value) - 0.75 * px, on * px, 1.5 * px);
    }
  };
  draw(1, 'quiet', 2, 5);
  draw(2, 'good', 7, 11);
}

/** Over the turbidity: passes as wedges in the lane above, peaks of pulses as rings. */
export function overTurbidity(paper: Paper, { looked }: Drawn): void {
  const { ctx, px, top } = paper;
  for (const visit of looked?.visits ?? []) {
    for (const [timeS, token] of [
      [visit.fromS, 'quiet'],
      [visit.toS, 'quiet'],
    ] as const) {
      const x = paper.x(timeS);
      if (x >= paper.left && x <= paper.right) line(paper, x, top - 12 * px, x, paper.bottom, token, 1);
    }
    nameOf(paper, visit.name, visit.fromS, visit.toS);
    for (const passS of visit.passesS) {
      const x = paper.x(passS);
      if (x < paper.left || x > paper.right) continue;
      ctx.fillStyle = colour('accent');
      ctx.beginPath();
      ctx.moveTo(x - 4 * px, top - 8 * px);
      ctx.lineTo(x + 4 * px, top - 8 * px);
      ctx.lineTo(x, top);
      ctx.fill();
    }
    for (const { peakS, peakNtu } of visit.pulses) {
      if (peakS === null || peakNtu === null) continue;
      const x = paper.x(peakS);
      if (x < paper.left || x > paper.right) continue;
      ctx.strokeStyle = colour('accent');
      ctx.lineWidth = 1.5 * px;
      ctx.beginPath();
      ctx.arc(x, paper.y(Math.max(0.5, peakNtu)), 4 * px, 0, 2 * Math.PI);
      ctx.stroke();
    }
  }
}

/** The emitter's name above its visit, where there is room for it. */
function nameOf(paper: Paper, name: string, fromS: number, toS: number): void {
  const at = clipped(paper, fromS, toS);
  if (!at) return;
  const { ctx, px, top } = paper;
  ctx.font = `${12 * px}px system-ui, sans-serif`;
  ctx.textAlign = 'left';
  ctx.textBaseline = 'alphabetic';
  if (ctx.measureText(name).width > at[1] - at[0] - 6 * px) return;
  ctx.fillStyle = colour('quiet');
  ctx.fillText(name, at[0] + 4 * px, top - 11 * px);
}

/** In every lane: the evidence that is looked at. */
export function evidence(paper: Paper, { focus }: Drawn): void {
  const { ctx, px } = paper;
  for (const { fromS, toS } of focus) {
    const at = clipped(paper, fromS, Math.max(toS, fromS + 1));
    if (!at) continue;
    ctx.save();
    ctx.globalAlpha = 0.14;
    ctx.fillStyle = colour('accent');
    ctx.fillRect(at[0], paper.top, at[1] - at[0], paper.bottom - paper.top);
    ctx.restore();
    for (const x of at) line(paper, x, paper.top, x, paper.bottom, 'accent', 1 * (px > 1 ? 1 : 1));
  }
}
