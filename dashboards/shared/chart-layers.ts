import type { RunView } from '../../src/server/protocol.ts';
import type { Paper } from './chart.ts';
import { ntuText } from './format.ts';
import type { Span } from './plot-data.ts';
import { colour, type Token } from './theme.ts';
import { t } from './words/language.ts';

/** What is drawn into the turbidity chart so that a person sees why: under the trace, over it, and in the lane above it. */
export interface Picture {
  readonly view: RunView;
  readonly nowS: number;
  /** Last plotted turbidity, from where the forecast starts. */
  readonly last: { readonly timeS: number; readonly value: number } | null;
  /** Spans in which nothing was measured. */
  readonly gaps: readonly Span[];
  /** Instant that a finger points at; null: none. */
  readonly pointedS: number | null;
  readonly emitterName: (id: string) => string;
}

function write(paper: Paper, text: string, x: number, y: number, token: Token, align: CanvasTextAlign = 'left'): void {
  const { ctx, px } = paper;
  ctx.font = `${18 * px}px system-ui, sans-serif`;
  ctx.textAlign = align;
  ctx.textBaseline = 'middle';
  // A rim of the ground colour keeps words readable where they cross a line.
  ctx.lineWidth = 4 * px;
  ctx.strokeStyle = colour('ground');
  ctx.strokeText(text, x, y);
  ctx.fillStyle = colour(token);
  ctx.fillText(text, x, y);
}

export function line(paper: Paper, x0: number, y0: number, x1: number, y1: number, token: Token, width: number): void {
  const { ctx, px } = paper;
  ctx.strokeStyle = colour(token);
  ctx.lineWidth = width * px;
  ctx.beginPath();
  ctx.moveTo(x0, y0);
  ctx.lineTo(x1, y1);
  ctx.stroke();
}

export function clipped(paper: Paper, fromS: number, toS: number): readonly [number, number] | null {
  const x0 = Math.max(paper.left, paper.x(fromS));
  const x1 = Math.min(paper.right, paper.x(toS));
  return x1 > x0 ? [x0, x1] : null;
}

/** Diagonal lines, never a grey fill: they are told from any colour. */
export function hatch(paper: Paper, x0: number, x1: number, token: Token): void {
  const { ctx, px, top, bottom } = paper;
  ctx.save();
  ctx.beginPath();
  ctx.rect(x0, top, x1 - x0, bottom - top);
  ctx.clip();
  ctx.strokeStyle = colour(token);
  ctx.lineWidth = 1 * px;
  ctx.beginPath();
  const height = bottom - top;
  const first = Math.floor((x0 - height) / (12 * px)) * 12 * px;
  for (let x = first; x < x1; x += 12 * px) {
    ctx.moveTo(x, bottom);
    ctx.lineTo(x + height, top);
  }
  ctx.stroke();
  ctx.restore();
}

/** Under the trace: where nothing can be said, where it was clear, the background and the clear level. */
export function drawUnder(paper: Paper, picture: Picture): void {
  paper.ctx.save();
  drawSpans(paper, picture);
  paper.ctx.restore();
}

function drawSpans(paper: Paper, { view, nowS, gaps }: Picture): void {
  const { ctx, px } = paper;
  for (const clear of view.clears) {
    const at = clipped(paper, clear.fromS, clear.toS ?? nowS);
    if (!at) continue;
    ctx.fillStyle = colour('good-soft');
    ctx.fillRect(at[0], paper.top, at[1] - at[0], paper.bottom - paper.top);
    ctx.fillStyle = colour('good');
    ctx.fillRect(at[0], paper.bottom - 5 * px, at[1] - at[0], 5 * px);
  }
  for (const span of view.withheldSpans) {
    const at = clipped(paper, span.fromS, span.toS ?? nowS);
    if (!at) continue;
    hatch(paper, at[0], at[1], 'hair');
    writeWithin(paper, span.text, at);
  }
  for (const gap of gaps) {
    const at = clipped(paper, gap.fromS, gap.toS);
    if (!at) continue;
    hatch(paper, at[0], at[1], 'ink');
    const text = t('no data {seconds} s', { seconds: Math.round(gap.toS - gap.fromS) });
    if (at[1] - at[0] > 120 * px) write(paper, text, (at[0] + at[1]) / 2, paper.bottom - 16 * px, 'ink', 'center');
  }
}

/** The reason why there is no verdict, in as many words as the span has room for, in lines from its top. */
function writeWithin(paper: Paper, text: string, [from, to]: readonly [number, number]): void {
  const { ctx, px } = paper;
  const room = to - from - 16 * px;
  ctx.font = `${18 * px}px system-ui, sans-serif`;
  const lines: string[] = [];
  for (const word of text.split(' ')) {
    const last = lines.at(-1);
    if (last !== undefined && ctx.measureText(`${last} ${word}`).width <= room)
      lines[lines.length - 1] = `${last} ${word}`;
    else if (ctx.measureText(word).width > room) return;
    else lines.push(word);
  }
  // How long nothing was measured stands below it.
  const most = Math.max(1, Math.min(4, Math.floor((paper.bottom - paper.top) / px / 22) - 1));
  lines.slice(0, most).forEach((line, i) => {
    const isCut = i === most - 1 && lines.length > most;
    write(paper, isCut ? `${line} \u2026` : line, from + 8 * px, paper.top + (18 + 22 * i) * px, 'ink');
  });
}

/** Names of the two levels at their right end, where the future is empty. */
function drawLevels(paper: Paper, { view, nowS }: Picture): void {
  const { px } = paper;
  const { backgroundNtu, clearLevelNtu } = view.figures;
  const from = Math.min(paper.right, paper.x(nowS));
  const labels: { y: number; text: string; token: Token }[] = [];
  if (clearLevelNtu !== null && clearLevelNtu > 0.5) {
    const y = paper.y(clearLevelNtu);
    line(paper, from, y, paper.right, y, 'good', 1.5);
    const words = view.stage === 'rinse' ? 'at most {ntu}' : 'clear under {ntu}';
    labels.push({ y: y - 13 * px, text: t(words, { ntu: ntuText(clearLevelNtu) }), token: 'good' });
  }
  if (backgroundNtu !== null && backgroundNtu > 0.5) {
    const y = paper.y(backgroundNtu);
    labels.push({ y: y + 14 * px, text: t('background {ntu}', { ntu: ntuText(backgroundNtu) }), token: 'quiet' });
  }
  for (const label of labels) write(paper, label.text, paper.right - 4 * px, label.y, label.token, 'right');
}

interface Mark {
  readonly timeS: number;
  /** From the longest to the shortest that still says it. */
  readonly texts: readonly string[];
}

function marksOf({ view, emitterName }: Picture): Mark[] {
  const shut = view.visitSpans.flatMap((visit) =>
    visit.toS === null ? [] : [{ timeS: visit.toS, texts: [t('shut')] }],
  );
  const opened = view.visitSpans.map((visit) => ({
    timeS: visit.fromS,
    texts: [t('open: {emitter}', { emitter: emitterName(visit.emitter) }), t('open')],
  }));
  const passes = view.passesS.map((timeS, i) => {
    const name = passName(view, timeS, i);
    return { timeS, texts: [t('pass {number}', { number: name }), name] };
  });
  return [...shut, ...opened, ...passes].sort((a, b) => a.timeS - b.timeS);
}

/** Room at the right end of the lane for the buttons that lie over it, CSS pixels. */
const toolsPx = 190;

/** A lane above the plot: what the engineer did, in words, with a hairline down to the trace. */
function drawLane(paper: Paper, picture: Picture): void {
  const { ctx, px } = paper;
  const y = paper.top - 16 * px;
  const end = paper.right - toolsPx * px;
  const marks = marksOf(picture).filter(({ timeS }) => paper.x(timeS) >= paper.left && paper.x(timeS) <= paper.right);
  marks.forEach((mark, i) => {
    const x = paper.x(mark.timeS);
    ctx.setLineDash([2 * px, 4 * px]);
    line(paper, x, y + 10 * px, x, paper.bottom, 'quiet', 1);
    ctx.setLineDash([]);
    ctx.fillStyle = colour('ink');
    ctx.beginPath();
    ctx.moveTo(x - 5 * px, y + 6 * px);
    ctx.lineTo(x + 5 * px, y + 6 * px);
    ctx.lineTo(x, y + 13 * px);
    ctx.fill();
    const next = marks[i + 1];
    // A gap between two words, or they are read as one.
    const room = Math.min(end, next === undefined ? end : paper.x(next.timeS) - 6 * px) - x - 4 * px;
    ctx.font = `${18 * px}px system-ui, sans-serif`;
    const text = mark.texts.find((candidate) => ctx.measureText(candidate).width <= room);
    if (text !== undefined) write(paper, text, x - 5 * px, y - 3 * px, 'ink');
  });
}

/** Passes are counted from the opening of their own visit. */
function passName(view: RunView, timeS: number, index: number): string {
  const visit = view.visitSpans.findLast((span) => span.fromS <= timeS);
  const before = visit === undefined ? index : view.passesS.filter((t) => t >= visit.fromS && t < timeS).length;
  return String(before + 1);
}

/** Each pulse: where it began (a tick), its peak with its figure, and how long it lasted (a line at the foot). */
function drawPulses(paper: Paper, { view, nowS }: Picture): void {
  const { ctx, px } = paper;
  for (const pulse of view.pulses) {
    const at = clipped(paper, pulse.onsetS, pulse.endS ?? nowS);
    if (!at) continue;
    const y = paper.bottom - 10 * px;
    line(paper, at[0], y, at[1], y, 'accent', 2);
    const onset = paper.x(pulse.onsetS);
    if (onset >= paper.left) line(paper, onset, y - 12 * px, onset, y + 6 * px, 'accent', 2);
    if (at[1] - at[0] > pulsePx * px) write(paper, t('pulse'), at[0] + 8 * px, y - 12 * px, 'accent');
    if (pulse.peakS === null || pulse.peakNtu === null || pulse.peakNtu <= 0.5) continue;
    const x = paper.x(pulse.peakS);
    if (x < paper.left || x > paper.right) continue;
    const peakY = Math.max(paper.top + 22 * px, paper.y(pulse.peakNtu) - 8 * px);
    ctx.fillStyle = colour('accent');
    ctx.beginPath();
    ctx.moveTo(x - 6 * px, peakY - 6 * px);
    ctx.lineTo(x + 6 * px, peakY - 6 * px);
    ctx.lineTo(x, peakY + 2 * px);
    ctx.fill();
    if (isBesideHigher(paper, view.pulses, pulse.peakNtu, x)) continue;
    // At the right edge stand the names of the lines.
    const side = x > paper.right - namesPx * px ? -1 : 1;
    write(paper, ntuText(pulse.peakNtu), x + side * 10 * px, peakY - 8 * px, 'accent', side < 0 ? 'right' : 'left');
  }
}

/** A figure would run into that of a higher peak beside it: the higher one says more, and the table has both. */
function isBesideHigher(paper: Paper, pulses: RunView['pulses'], peakNtu: number, x: number): boolean {
  return pulses.some(
    (p) => p.peakS !== null && (p.peakNtu ?? 0) > peakNtu && Math.abs(paper.x(p.peakS) - x) < figurePx * paper.px,
  );
}

/** Shortest pulse that has its name beside it. */
const pulsePx = 70;
/** Widest figure of a peak. */
const figurePx = 60;
/** Widest name of a line, and a peak's figure beside it. */
const namesPx = 190;

/** Between the fastest and the slowest way down that the forecast allows. */
function drawFan(paper: Paper, forecast: Forecast, last: Point, endS: number): void {
  const { ctx } = paper;
  const aheadS = forecast.clearAtS - last.timeS;
  if (aheadS <= 0) return;
  const edge = (clearS: number) => {
    const tauS = Math.max(0.1, (forecast.tauS * Math.max(0.01, clearS - last.timeS)) / aheadS);
    return (timeS: number) => Math.max(0.5, washout(forecast.settleNtu, last, tauS, timeS));
  };
  const [fast, slow] = [edge(forecast.fromS), edge(forecast.toS)];
  const toS = Math.min(endS, paper.time(paper.right));
  const steps = Array.from({ length: 25 }, (_, i) => last.timeS + ((toS - last.timeS) * i) / 24);
  ctx.beginPath();
  for (const s of steps) ctx.lineTo(paper.x(s), paper.y(slow(s)));
  for (const s of steps.toReversed()) ctx.lineTo(paper.x(s), paper.y(fast(s)));
  ctx.closePath();
  ctx.fillStyle = colour('trace');
  ctx.globalAlpha = 0.14;
  ctx.fill();
  ctx.globalAlpha = 1;
}

type Forecast = NonNullable<RunView['verdict']['forecast']>;
type Point = NonNullable<Picture['last']>;

function washout(settleNtu: number, from: Point, tauS: number, timeS: number): number {
  return settleNtu + (from.value - settleNtu) * Math.exp(-(timeS - from.timeS) / tauS);
}

/** The washout ahead, while it falls: a curve that fades with distance, and its interval. */
function drawWashout(paper: Paper, forecast: Forecast, last: Point): void {
  const { ctx, px } = paper;
  const steps = 40;
  const endS = Math.max(forecast.toS, forecast.clearAtS) + forecast.tauS * 0.5;
  const level = (timeS: number) => washout(forecast.settleNtu, last, forecast.tauS, timeS);
  drawFan(paper, forecast, last, endS);
  ctx.strokeStyle = colour('trace');
  ctx.lineWidth = 2 * px;
  for (let i = 0; i < steps; i += 2) {
    const fromS = last.timeS + ((endS - last.timeS) * i) / steps;
    const toS = last.timeS + ((endS - last.timeS) * (i + 1)) / steps;
    if (paper.x(toS) > paper.right) break;
    ctx.globalAlpha = 0.9 - (0.7 * i) / steps;
    ctx.beginPath();
    ctx.moveTo(paper.x(fromS), paper.y(Math.max(0.5, level(fromS))));
    ctx.lineTo(paper.x(toS), paper.y(Math.max(0.5, level(toS))));
    ctx.stroke();
  }
  ctx.globalAlpha = 1;
}

/** The span in which the clear level is expected; what has yet to come does not fall from here, so no curve leads there. */
function drawForecast(paper: Paper, { view, last }: Picture): void {
  const { forecast, state } = view.verdict;
  if (forecast === null || last === null || forecast.tauS <= 0) return;
  if (state === 'settling') drawWashout(paper, forecast, last);
  const clearNtu = view.figures.clearLevelNtu;
  const at = clipped(paper, Math.max(forecast.fromS, last.timeS), forecast.toS);
  if (clearNtu === null || clearNtu <= 0.5 || !at) return;
  const y = paper.y(clearNtu);
  line(paper, at[0], y, at[1], y, 'good', 5);
  // Beyond the edge it goes on: no end is drawn there.
  for (const end of [paper.x(forecast.fromS), paper.x(forecast.toS)])
    if (at.includes(end)) line(paper, end, y - 8 * paper.px, end, y + 8 * paper.px, 'good', 2);
}

/** Where the present ends: right of it only the forecast. */
function drawNow(paper: Paper, { nowS }: Picture): void {
  const x = paper.x(nowS);
  if (x > paper.left && x < paper.right) line(paper, x, paper.top, x, paper.bottom, 'hair', 1);
}

/** Where the finger points, over the whole height. */
function drawPointed(paper: Paper, { pointedS }: Picture): void {
  if (pointedS === null) return;
  const x = paper.x(pointedS);
  if (x >= paper.left && x <= paper.right) line(paper, x, paper.top, x, paper.bottom, 'accent', 2);
}

/** What the figures on the axes are. */
function drawUnits(paper: Paper): void {
  const { px } = paper;
  write(paper, 'NTU', paper.left - 8 * px, paper.top - 3 * px, 'quiet', 'right');
  write(paper, 'min', 0, paper.bottom + 14 * px, 'quiet');
}

export function drawOver(paper: Paper, picture: Picture): void {
  const { ctx } = paper;
  ctx.save();
  drawUnits(paper);
  drawNow(paper, picture);
  drawLane(paper, picture);
  drawPulses(paper, picture);
  drawForecast(paper, picture);
  drawLevels(paper, picture);
  drawPointed(paper, picture);
  ctx.restore();
}
