import type { LiveMessage, RunView, TraceRow } from '../server/protocol.ts';
import type { RunClock } from './clock.ts';

/** Rows wait at most so long to go out together (real seconds); at 10 Hz each goes out at once. */
const gatherS = 0.02;

/** Live messages to all listeners: rows in order, gathered only when they come faster than a page can draw. */
export class Live {
  private readonly listeners = new Set<(message: LiveMessage) => void>();
  private readonly clock: RunClock;
  private rows: TraceRow[] = [];
  private sentAtS = Number.NEGATIVE_INFINITY;
  private waiting: (() => void) | null = null;

  constructor(clock: RunClock) {
    this.clock = clock;
  }

  listen(fn: (message: LiveMessage) => void): () => void {
    this.listeners.add(fn);
    return () => this.listeners.delete(fn);
  }

  /** Whether anybody hears what is sent. */
  get isHeard(): boolean {
    return this.listeners.size > 0;
  }

  row(row: TraceRow): void {
    if (this.listeners.size > 0) this.rows.push(row);
  }

  /** Rows are complete for now: send them, or within 20 ms when the last ones just went out. */
  settle(): void {
    if (this.rows.length === 0 || this.waiting !== null) return;
    const waitS = gatherS - (this.clock.nowS() - this.sentAtS) / this.clock.speed;
    if (waitS <= 0) this.sendRows();
    else this.waiting = this.clock.after(waitS * this.clock.speed, () => this.sendRows());
  }

  /** Send what waits now, so that whoever reads the trace next has no row twice. */
  sendRows(): void {
    this.waiting?.();
    this.waiting = null;
    if (this.rows.length === 0) return;
    const { rows } = this;
    this.rows = [];
    this.sentAtS = this.clock.nowS();
    this.send({ type: 'trace', rows });
  }

  view(view: RunView): void {
    this.sendRows();
    this.send({ type: 'view', view });
  }

  /** The past has changed: pages fetch the trace anew. */
  filled(): void {
    this.sendRows();
    this.send({ type: 'refetch', from: '', why: 'late-readings' });
  }

  beat(timeS: number, lastSampleS: number | null): void {
    this.send({ type: 'beat', timeS, wallMs: this.clock.wallMs(), lastSampleS, speed: this.clock.speed });
  }

  private send(message: LiveMessage): void {
    for (const fn of this.listeners) fn(message);
  }
}
