import { effect } from '@preact/signals';
import { linkState, rowsCame, view } from './model.ts';
import { frozen, look, pointedS } from './span.ts';

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
