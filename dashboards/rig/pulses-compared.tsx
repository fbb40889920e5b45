import { useEffect, useRef } from 'preact/hooks';
import type { RunView } from '../../src/server/protocol.ts';
import { createChart, type Paper } from '../shared/chart.ts';
import { ntuText } from '../shared/format.ts';
import { colour, type Token } from '../shared/theme.ts';
import { t } from '../shared/words/language.ts';
import { keepDrawn } from './draw.ts';
import { buffer, view } from './model.ts';
import { chartNowS, originS } from './span.ts';

/** The answers to the last passes of this visit, each from its pass on: a dying pulse is seen at a glance. */
interface Answer {
  readonly number: number;
  readonly fromS: number;
  readonly toS: number;
}

const shown = 3;
/** The newest first: the strongest line. */
const styles: readonly { token: Token; width: number; dash: readonly number[] }[] = [
  { token: 'trace', width: 3, dash: [] },
  { token: 'flow', width: 2, dash: [10, 4] },
  { token: 'pressure', width: 2, dash: [3, 4] },
];

export function answersOf(now: RunView, nowS: number): Answer[] {
  const passes = now.passesS.filter((s) => s >= originS(now));
  return passes
    .map((fromS, i) => ({ number: i + 1, fromS, toS: passes[i + 1] ?? nowS }))
    .slice(-shown)
    .reverse();
}

function drawAnswer(paper: Paper, answer: Answer, index: number): void {
  const style = styles[index];
  if (style === undefined) return;
  const { ctx, px } = paper;
  ctx.strokeStyle = colour(style.token);
  ctx.lineWidth = style.width * px;
  ctx.setLineDash(style.dash.map((d) => d * px));
  ctx.beginPath();
  let isDown = false;
  let last = { x: paper.left, y: paper.bottom };
  let peakNtu = 0;
  const to = buffer.indexAt(answer.toS);
  for (let i = buffer.indexAt(answer.fromS); i < to; i += 1) {
    const ntu = buffer.at('turbidityNtu', i);
    if (Number.isNaN(ntu)) {
      isDown = false;
      continue;
    }
    last = { x: paper.x(buffer.at('timeS', i) - answer.fromS), y: paper.y(Math.max(0.5, ntu)) };
    peakNtu = Math.max(peakNtu, ntu);
    if (isDown) ctx.lineTo(last.x, last.y);
    else ctx.moveTo(last.x, last.y);
    isDown = true;
  }
  ctx.stroke();
  ctx.setLineDash([]);
  ctx.font = `${18 * px}px system-ui, sans-serif`;
  ctx.fillStyle = colour(style.token);
  ctx.textAlign = 'left';
  ctx.textBaseline = 'middle';
  const text = t('pass {number}: peak {ntu}', { number: answer.number, ntu: ntuText(peakNtu) });
  // Direct labels, from the top right down; no legend to hunt for.
  ctx.fillText(text, paper.right - 210 * px, paper.top + (30 + 26 * index) * px);
  ctx.fillRect(paper.right - 240 * px, paper.top + (28 + 26 * index) * px, 22 * px, style.width * px);
}

function drawClear(paper: Paper, now: RunView): void {
  const { clearLevelNtu } = now.figures;
  if (clearLevelNtu === null || clearLevelNtu <= 0.5) return;
  const { ctx, px } = paper;
  ctx.strokeStyle = colour('good');
  ctx.lineWidth = 1.5 * px;
  ctx.beginPath();
  ctx.moveTo(paper.left, paper.y(clearLevelNtu));
  ctx.lineTo(paper.right, paper.y(clearLevelNtu));
  ctx.stroke();
}

function startChart(host: HTMLElement): () => void {
  const answers = () => (view.value === null ? [] : answersOf(view.value, chartNowS()));
  const chart = createChart(host, {
    lines: [],
    y: { kind: 'log', lo: 0.5, hi: 5000 },
    axes: true,
    laneTop: 34,
    over: (paper) => {
      paper.ctx.save();
      if (view.value !== null) drawClear(paper, view.value);
      answers().forEach((answer, index) => drawAnswer(paper, answer, index));
      paper.ctx.restore();
    },
  });
  const draw = (): void => {
    const longestS = Math.max(60, ...answers().map((a) => a.toS - a.fromS));
    chart.draw(buffer, { fromS: 0, toS: Math.min(600, longestS) }, 0);
  };
  return keepDrawn(chart, draw, 250);
}

export function PulsesCompared() {
  const host = useRef<HTMLDivElement>(null);
  useEffect(() => (host.current === null ? undefined : startChart(host.current)), []);
  const now = view.value;
  const none = now === null || answersOf(now, chartNowS()).length === 0;
  return (
    <>
      <p class="plot-title">
        {none
          ? t('No pass of this visit yet: each pass of it will be drawn over the one before.')
          : t('Minutes since each pass')}
      </p>
      <div
        class="plot"
        ref={host}
        role="img"
        aria-label={t('The last passes of this visit, drawn over one another from the pass on')}
      />
    </>
  );
}
