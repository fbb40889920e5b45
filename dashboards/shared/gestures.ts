/**
 * Hands on a chart: a tap, a drag to the side, two fingers apart or together, a wheel. In shares of its width, so that
 * whoever listens needs to know nothing of pixels. Up and down stays with the page, which may have to scroll.
 */
export interface Gestures {
  /** @param at Where, as a share of the width from the left. */
  tap(at: number): void;
  /** @param by Share of the width; to the right is positive. */
  pan(by: number): void;
  /** @param factor Over one: closer. `at` stays where it is. */
  zoom(factor: number, at: number): void;
}

/** A finger that moved less than this has tapped, CSS pixels. */
const tapPx = 10;
const tapMs = 600;

interface Finger {
  readonly startX: number;
  readonly startMs: number;
  x: number;
}

export function watchGestures(host: HTMLElement, to: Gestures): () => void {
  const fingers = new Map<number, Finger>();
  let moved = false;
  const stop = new AbortController();
  const share = (clientX: number): number => {
    const box = host.getBoundingClientRect();
    return (clientX - box.left) / Math.max(1, box.width);
  };
  const spread = (): { middle: number; apart: number } => {
    const [a, b] = [...fingers.values()];
    const [ax, bx] = [a?.x ?? 0, b?.x ?? 0];
    return { middle: (ax + bx) / 2, apart: Math.max(20, Math.abs(ax - bx)) };
  };
  const on = <K extends keyof HTMLElementEventMap>(
    type: K,
    listen: (event: HTMLElementEventMap[K]) => void,
    passive = true,
  ) => host.addEventListener(type, listen, { passive, signal: stop.signal });

  on('pointerdown', (event) => {
    if (event.button !== 0 || fingers.size === 2) return;
    if (fingers.size === 0) moved = false;
    else moved = true;
    fingers.set(event.pointerId, { startX: event.clientX, startMs: event.timeStamp, x: event.clientX });
    // A finger that leaves the chart still drags it; one that the browser no longer knows cannot be held.
    if (host.hasPointerCapture !== undefined && event.isTrusted) host.setPointerCapture(event.pointerId);
  });
  on('pointermove', (event) => {
    const finger = fingers.get(event.pointerId);
    if (finger === undefined) return;
    const before = spread();
    const beforeX = finger.x;
    finger.x = event.clientX;
    if (fingers.size === 2) {
      const now = spread();
      to.zoom(now.apart / before.apart, share(now.middle));
      to.pan(share(now.middle) - share(before.middle));
      return;
    }
    if (!moved && Math.abs(event.clientX - finger.startX) < tapPx) {
      finger.x = beforeX;
      return;
    }
    moved = true;
    to.pan(share(event.clientX) - share(beforeX));
  });
  on('pointerup', (event) => {
    const finger = fingers.get(event.pointerId);
    fingers.delete(event.pointerId);
    if (finger !== undefined && !moved && event.timeStamp - finger.startMs < tapMs) to.tap(share(event.clientX));
  });
  on('pointercancel', (event) => fingers.delete(event.pointerId));
  on(
    'wheel',
    (event) => {
      event.preventDefault();
      if (event.shiftKey || Math.abs(event.deltaX) > Math.abs(event.deltaY))
        to.pan(-(event.deltaX || event.deltaY) / 1000);
      else to.zoom(Math.exp(-event.deltaY / 500), share(event.clientX));
    },
    false,
  );
  return () => stop.abort();
}
