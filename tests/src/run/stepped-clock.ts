import type { RunClock } from '../../../src/run/clock.ts';

/** Time that moves only when told: the same every time, and hours in a second. */
export class SteppedClock implements RunClock {
  readonly speed: number;
  private timeS = 0;
  private readonly due: { atS: number; fn: () => void }[] = [];

  constructor(speed = 1) {
    this.speed = speed;
  }

  nowS(): number {
    return this.timeS;
  }

  wallMs(): number {
    return 1_790_000_000_000 + this.timeS * 1000;
  }

  after(delayS: number, fn: () => void): () => void {
    const entry = { atS: this.timeS + Math.max(0, delayS), fn };
    const at = this.due.findIndex((d) => d.atS > entry.atS);
    this.due.splice(at === -1 ? this.due.length : at, 0, entry);
    return () => {
      const i = this.due.indexOf(entry);
      if (i >= 0) this.due.splice(i, 1);
    };
  }

  every(realS: number, fn: () => void): () => void {
    let stopped = false;
    let cancel = (): void => undefined;
    const again = (): void => {
      if (stopped) return;
      fn();
      cancel = this.after(realS * this.speed, again);
    };
    cancel = this.after(realS * this.speed, again);
    return () => {
      stopped = true;
      cancel();
    };
  }

  /** The machine stands still for so long: what fell due meanwhile comes late, at the next `run`. */
  stall(seconds: number): void {
    this.timeS += seconds;
  }

  /** Let `seconds` go by, everything that falls due on the way done at its own time. */
  run(seconds: number): void {
    const untilS = this.timeS + seconds;
    for (let next = this.due[0]; next && next.atS <= untilS; next = this.due[0]) {
      this.due.shift();
      this.timeS = Math.max(this.timeS, next.atS);
      next.fn();
    }
    this.timeS = untilS;
  }
}
