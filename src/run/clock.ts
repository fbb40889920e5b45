import type { TransportClock } from '../../firmware-bridge/transport/transport.ts';

/** Time for everything that runs: the only place that asks the machine for it. */
export interface RunClock extends TransportClock {
  /** Seconds of this clock in one real second; 1 except in a rehearsal. */
  readonly speed: number;
  /** Wall clock, ms since 1970 UTC: for people, never for order. */
  wallMs(): number;
  /** Call `fn` every `realS` real seconds; the returned function stops it. */
  every(realS: number, fn: () => void): () => void;
}

/** The machine's monotonic clock, `speed` times as fast. */
export function machineClock(speed = 1): RunClock {
  const zeroMs = performance.now();
  return {
    speed,
    nowS: () => ((performance.now() - zeroMs) / 1000) * speed,
    after(delayS, fn) {
      const timer = setTimeout(fn, Math.min((delayS * 1000) / speed, 2 ** 31 - 1));
      return () => clearTimeout(timer);
    },
    wallMs: () => Date.now(),
    every(realS, fn) {
      const timer = setInterval(fn, realS * 1000);
      return () => clearInterval(timer);
    },
  };
}
