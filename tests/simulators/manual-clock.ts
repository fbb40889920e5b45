import type { TransportClock } from '../../firmware-bridge/transport/transport.ts';

/** A clock that goes on only when told. */
export class ManualClock implements TransportClock {
  #nowS = 0;
  readonly #due: { atS: number; fn: () => void }[] = [];

  nowS(): number {
    return this.#nowS;
  }

  after(delayS: number, fn: () => void): () => void {
    const item = { atS: this.#nowS + delayS, fn };
    this.#due.push(item);
    return () => {
      const i = this.#due.indexOf(item);
      if (i >= 0) this.#due.splice(i, 1);
    };
  }

  advance(seconds: number): void {
    const untilS = this.#nowS + seconds;
    for (;;) {
      this.#due.sort((a, b) => a.atS - b.atS);
      const next = this.#due[0];
      if (!next || next.atS > untilS) break;
      this.#due.shift();
      this.#nowS = next.atS;
      next.fn();
    }
    this.#nowS = untilS;
  }
}
