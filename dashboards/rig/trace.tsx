import { effect, signal } from '@preact/signals';
import { useEffect, useRef } from 'preact/hooks';
import type { RunView } from '../../src/server/protocol.ts';
import { type Chart, createChart } from '../shared/chart.ts';
import { drawOver, drawUnder, type Picture } from '../shared/chart-layers.ts';
import { clockText, ntuText } from '../shared/format.ts';
import { gapSpans, type Span } from '../shared/plot-data.ts';
import { theme } from '../shared/theme.ts';
import { buffer, linkState, rowsCame, runNowS, view } from './model.ts';

/** The span that the charts show. A touch freezes it; new rows are kept and nothing jumps. */
const aheadS = 60;
const behindS = [240, 840] as const;
export const wide = signal(false);
export const frozen = signal<Span | null>(null);

export function shownSpan(): Span {
  if (frozen.value !== null) return frozen.value;
  const nowS = linkState.value === 'live' ? (buffer.lastS ?? runNowS()) : runNowS();
  return { fromS: nowS - behindS[wide.value ? 1 : 0], toS: nowS + aheadS };
}

/** Time counts from the opening of the emitter that is worked on, else from the start of the run. */
export function originS(now: RunView | null): number {
  return now?.visitSpans.findLast((span) => span.toS === null)?.fromS ?? 0;
}

function pictureOf(now: RunView): Picture {
  const span = shownSpan();
  const nowS = linkState.value === 'live' ? (buffer.lastS ?? runNowS()) : runNowS();
  return {
    view: now,
    nowS,
    last: buffer.lastOf('turbidityNtu'),
    gaps: gapSpans(buffer, 'turbidityNtu', span, nowS),
    emitterName: (id) => now.emitters.find((e) => e.id === id)?.name ?? id,
  };
}

/** Redraws when something came, not more often than `everyMs`; a hidden page draws nothing. */
export function drawOnRows(draw: () => void, everyMs: number): () => void {
  let asked = 0;
  let lastMs = 0;
  const frame = (ms: number) => {
    if (ms - lastMs < everyMs) {
      asked = requestAnimationFrame(frame);
      return;
    }
    asked = 0;
    lastMs = ms;
    draw();
  };
  const stop = effect(() => {
    void rowsCame.value;
    void view.value;
    void linkState.value;
    void frozen.value;
    void wide.value;
    if (asked === 0) asked = requestAnimationFrame(frame);
  });
  const ticking = setInterval(() => {
    // Without rows time still goes on: the gap has to be seen growing.
    if (asked === 0 && document.visibilityState === 'visible' && performance.now() - lastMs > 500) {
      lastMs = performance.now();
      draw();
    }
  }, 500);
  return () => {
    stop();
    clearInterval(ticking);
    cancelAnimationFrame(asked);
  };
}

function startChart(host: HTMLElement): () => void {
  const chart: Chart = createChart(host, {
    lines: [
      { column: 'backgroundNtu', token: 'quiet', width: 1.5, dash: [6, 5] },
      { column: 'clearLevelNtu', token: 'good', width: 1.5 },
      { column: 'turbidityNtu', token: 'trace', width: 2.5 },
    ],
    y: { kind: 'log', lo: 0.5, hi: 5000 },
    axes: true,
    laneTop: 34,
    under: (paper) => view.value !== null && drawUnder(paper, pictureOf(view.value)),
    over: (paper) => {
      if (view.value !== null) drawOver(paper, pictureOf(view.value));
      // What the canvas now holds, for whoever measures the way from the sensor to here.
      const oldestS = buffer.at('timeS', 0);
      const detail = { rows: buffer.length, oldestS, newest: buffer.lastOf('turbidityNtu') };
      host.dispatchEvent(new CustomEvent('drawn', { detail, bubbles: true }));
    },
  });
  const stopDrawing = drawOnRows(() => chart.draw(buffer, shownSpan(), originS(view.value)), 60);
  const stopTheme = effect(() => {
    void theme.value;
    chart.restyle();
  });
  return () => {
    stopDrawing();
    stopTheme();
    chart.destroy();
  };
}

export function Trace() {
  const host = useRef<HTMLDivElement>(null);
  useEffect(() => (host.current === null ? undefined : startChart(host.current)), []);
  const now = view.value;
  if (now === null) return null;
  return (
    <section class="trace" aria-label="Return turbidity over time">
      <div
        class="plot"
        ref={host}
        onClick={() => {
          frozen.value ??= shownSpan();
        }}
      />
      <div class="plot-tools">
        <button type="button" class="tool" onClick={() => (wide.value = !wide.value)}>
          {wide.value ? '4 min' : '14 min'}
        </button>
        {frozen.value !== null && (
          <button type="button" class="tool is-primary" onClick={() => (frozen.value = null)}>
            Back to live
          </button>
        )}
      </div>
      <MarksTable now={now} />
    </section>
  );
}

/** What the chart shows as marks, as a table: for screen readers, and for whoever wants the figures. */
function MarksTable({ now }: { now: RunView }) {
  const zeroS = originS(now);
  const at = (timeS: number | null) => (timeS === null ? 'not yet' : clockText(timeS - zeroS));
  return (
    <div class="for-readers">
      <table>
        <caption>Marks of the chart; times in minutes since this emitter was opened</caption>
        <thead>
          <tr>
            <th scope="col">Mark</th>
            <th scope="col">From</th>
            <th scope="col">To</th>
            <th scope="col">Peak</th>
          </tr>
        </thead>
        <tbody>
          {now.passesS.map((passS) => (
            <tr key={`pass ${passS}`}>
              <td>Pass</td>
              <td>{at(passS)}</td>
              <td />
              <td />
            </tr>
          ))}
          {now.pulses.map((pulse) => (
            <tr key={`pulse ${pulse.onsetS}`}>
              <td>Pulse</td>
              <td>{at(pulse.onsetS)}</td>
              <td>{at(pulse.endS)}</td>
              <td>{pulse.peakNtu === null ? 'not yet' : `${ntuText(pulse.peakNtu)} NTU`}</td>
            </tr>
          ))}
          {now.clears.map((clear) => (
            <tr key={`clear ${clear.fromS}`}>
              <td>Clear</td>
              <td>{at(clear.fromS)}</td>
              <td>{clear.toS === null ? 'stands' : at(clear.toS)}</td>
              <td />
            </tr>
          ))}
        </tbody>
      </table>
    </div>
  );
}
