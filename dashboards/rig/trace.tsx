import { useEffect, useRef } from 'preact/hooks';
import type { RunView } from '../../src/server/protocol.ts';
import { type Chart, createChart } from '../shared/chart.ts';
import { drawOver, drawUnder, type Picture } from '../shared/chart-layers.ts';
import { watchGestures } from '../shared/gestures.ts';
import { gapSpans } from '../shared/plot-data.ts';
import { type Phrase, t } from '../shared/words/language.ts';
import { keepDrawn } from './draw.ts';
import { MarksTable, Summary } from './marks-table.tsx';
import { buffer, fetchBefore, view } from './model.ts';
import { PulsesCompared } from './pulses-compared.tsx';
import { Reading } from './reading.tsx';
import { backToLive, chartNowS, frozen, type Look, look, originS, panBy, pointedS, shownSpan, zoomBy } from './span.ts';

function pictureOf(now: RunView): Picture {
  const span = shownSpan();
  const nowS = chartNowS();
  return {
    view: now,
    nowS,
    last: buffer.lastOf('turbidityNtu'),
    gaps: buffer.length === 0 ? [{ fromS: span.fromS, toS: nowS }] : gapSpans(buffer, 'turbidityNtu', span, nowS),
    pointedS: pointedS.value,
    emitterName: (id) => now.emitters.find((e) => e.id === id)?.name ?? id,
  };
}

function startChart(host: HTMLElement): () => void {
  let picture: Picture | null = null;
  const chart: Chart = createChart(host, {
    lines: [
      { column: 'backgroundNtu', token: 'quiet', width: 1.5, dash: [6, 5] },
      { column: 'clearLevelNtu', token: 'good', width: 1.5 },
      { column: 'turbidityNtu', token: 'trace', width: 2.5 },
    ],
    y: { kind: 'log', lo: 0.5, hi: 5000 },
    axes: true,
    laneTop: 34,
    under: (paper) => {
      picture = view.value === null ? null : pictureOf(view.value);
      if (picture !== null) drawUnder(paper, picture);
    },
    over: (paper) => {
      if (picture !== null) drawOver(paper, picture);
      // What the canvas now holds, for whoever measures the way from the sensor to here.
      const oldestS = buffer.at('timeS', 0);
      const newest = buffer.lastOf('turbidityNtu');
      const detail = { rows: buffer.length, oldestS, newest, nowS: picture?.nowS ?? null };
      host.dispatchEvent(new CustomEvent('drawn', { detail, bubbles: true }));
    },
  });
  const stop = keepDrawn(
    chart,
    () => {
      const span = shownSpan();
      chart.draw(buffer, span, originS(view.value));
      if (frozen.value !== null) void fetchBefore(span.fromS);
    },
    60,
  );
  const stopHands = watchGestures(host, {
    tap(at) {
      frozen.value ??= shownSpan();
      const box = host.getBoundingClientRect();
      pointedS.value = chart.timeAt(box.left + at * box.width);
    },
    pan: panBy,
    zoom: zoomBy,
  });
  return () => {
    stopHands();
    stop();
  };
}

/** The same as by fingers, by the keys of a keyboard. */
function moveByKey(event: KeyboardEvent): void {
  const moves: Readonly<Record<string, () => void>> = {
    ArrowLeft: () => panBy(0.2),
    ArrowRight: () => panBy(-0.2),
    '+': () => zoomBy(1.5, 0.5),
    '-': () => zoomBy(1 / 1.5, 0.5),
    Escape: backToLive,
  };
  const move = moves[event.key];
  if (move === undefined) return;
  event.preventDefault();
  move();
}

function Plot() {
  const host = useRef<HTMLDivElement>(null);
  useEffect(() => (host.current === null ? undefined : startChart(host.current)), []);
  return (
    <div
      class="plot"
      ref={host}
      role="application"
      tabIndex={0}
      aria-label={t('Chart of turbidity: arrow keys move it, plus and minus stretch it, Escape goes back to live')}
      onKeyDown={moveByKey}
    />
  );
}

const looks: readonly (readonly [Look, Phrase])[] = [
  ['short', 'Last 4 min'],
  ['long', 'Last 14 min'],
  ['pulses', 'Pulses compared'],
  ['table', 'As a table'],
];

function LookChoice() {
  return (
    <select
      class="tool"
      aria-label={t('What the chart shows')}
      value={look.value}
      onChange={(event) => {
        const chosen = looks.find(([id]) => id === event.currentTarget.value);
        backToLive();
        if (chosen) look.value = chosen[0];
      }}
    >
      {looks.map(([id, phrase]) => (
        <option key={id} value={id}>
          {t(phrase)}
        </option>
      ))}
    </select>
  );
}

const hands: readonly (readonly [string, Phrase, () => void])[] = [
  ['\u2190', 'Earlier', () => panBy(0.5)],
  ['\u2192', 'Later', () => panBy(-0.5)],
  ['+', 'Closer', () => zoomBy(1.6, 0.5)],
  ['\u2212', 'Wider', () => zoomBy(1 / 1.6, 0.5)],
];

/** While the chart stands still: the same moves by buttons. */
function Hands() {
  return (
    <>
      {hands.map(([sign, phrase, move]) => (
        <button key={sign} type="button" class="tool" aria-label={t(phrase)} onClick={move}>
          {sign}
        </button>
      ))}
    </>
  );
}

export function Trace() {
  const now = view.value;
  if (now === null) return null;
  const shows = look.value;
  return (
    <section class="trace" aria-label={t('Return turbidity over time')}>
      {shows === 'pulses' ? <PulsesCompared /> : shows !== 'table' && <Plot />}
      {shows === 'table' && <MarksTable now={now} />}
      <div class="plot-tools">
        {frozen.value !== null && <Hands />}
        <LookChoice />
      </div>
      {frozen.value !== null && <Reading />}
      {frozen.value !== null && (
        <button type="button" class="tool is-primary back-to-live" onClick={backToLive}>
          {t('Back to live')}
        </button>
      )}
      <Summary />
      {shows !== 'table' && (
        <div class="for-readers">
          <MarksTable now={now} />
        </div>
      )}
    </section>
  );
}
