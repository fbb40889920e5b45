import type { TransportClock } from '../../firmware-bridge/transport/transport.ts';

/** The machine's time. */
export const realClock: TransportClock = {
  nowS: () => performance.now() / 1000,
  after: (delayS, fn) => {
    const timer = setTimeout(fn, delayS * 1000);
    return () => clearTimeout(timer);
  },
};

/** Time that passes only when told to. */
export class HandClock implements TransportClock {
  #nowS = 0;
  #waiting: { readonly atS: number; readonly fn: () => void }[] = [];

  nowS(): number {
    return this.#nowS;
  }

  after(delayS: number, fn: () => void): () => void {
    const entry = { atS: this.#nowS + delayS, fn };
    this.#waiting.push(entry);
    return () => {
      this.#waiting = this.#waiting.filter((other) => other !== entry);
    };
  }

  get timers(): number {
    return this.#waiting.length;
  }

  /** Let time pass, ringing what falls due at its own time, and let what it set going settle. */
  async pass(seconds: number): Promise<void> {
    const endS = this.#nowS + seconds;
    for (;;) {
      await settle();
      const due = this.#waiting.filter((e) => e.atS <= endS).sort((a, b) => a.atS - b.atS)[0];
      if (!due) break;
      this.#waiting = this.#waiting.filter((other) => other !== due);
      this.#nowS = Math.max(this.#nowS, due.atS);
      due.fn();
    }
    this.#nowS = endS;
    await settle();
  }
}

async function settle(): Promise<void> {
  for (let i = 0; i < 20; i++) await Promise.resolve();
}

/** Wait for a thing to become true, by looking often; fails by name when it does not. */
export async function until(what: string, isTrue: () => boolean, withinS = 15): Promise<void> {
  const endS = realClock.nowS() + withinS;
  while (!isTrue()) {
    if (realClock.nowS() > endS) throw new Error(`not within ${withinS} s: ${what}`);
    await new Promise((resolve) => setTimeout(resolve, 5));
  }
}
