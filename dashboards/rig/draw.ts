import { effect } from '@preact/signals';
import type { Chart } from '../shared/chart.ts';
import { theme } from '../shared/theme.ts';
import { language } from '../shared/words/language.ts';
import { linkState, rowsCame, view } from './model.ts';
import { frozen, look, pointedS } from './span.ts';

/** Keeps a chart as the run, the theme and the language are, until the function that it returns is called. */
export function keepDrawn(chart: Chart, draw: () => void, everyMs: number): () => void {
  const stopDrawing = drawOnRows(draw, everyMs);
  const stopStyle = effect(() => {
    void theme.value;
    void language.value;
    chart.restyle();
  });
  return () => {
    stopDrawing();
    stopStyle();
    chart.destroy();
  };
}

/** Redraws when something came, not more often than `everyMs`; a hidden page draws nothing. */
function drawOnRows(draw: () => void, everyMs: number): () => void {
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
    void look.value;
    void pointedS.value;
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
