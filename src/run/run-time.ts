import type { RunClock } from './clock.ts';

/** Real seconds. */
const mostMovedS = 0.5;
/** Seconds of the run; well under the time after which a kit is called silent. */
const mostSteppedS = 2;

/**
 * The run's own clock: seconds since the run began, going on over a restart of the bridge. Everything that enters a
 * run gets a time later than all before it; the core relies on that.
 */
export class RunTime {
  /** The bridge's clock when the run's stood at 0. */
  readonly zeroS: number;
  private readonly clock: RunClock;
  /** Before it this run heard nothing of this process: it was not begun, or the bridge was off. */
  readonly startS: number;
  /** The newest time that the run has heard of. */
  private floorS: number;

  /** @param startS where the clock goes on: 0 for a new run, the newest time in the store for one that is resumed. */
  constructor(clock: RunClock, startS: number) {
    this.clock = clock;
    this.startS = startS;
    this.zeroS = clock.nowS() - startS;
    this.floorS = startS === 0 ? -1e-6 : startS;
  }

  nowS(): number {
    return this.ofBridge(this.clock.nowS());
  }

  ofBridge(bridgeS: number): number {
    return bridgeS - this.zeroS;
  }

  /**
   * The time under which something enters the run: whole milliseconds where that is later than all before, else one
   * microsecond after the newest.
   */
  next(wantedS: number): number {
    const ms = Math.round(wantedS * 1000) / 1000;
    const timeS = ms > this.floorS ? ms : Math.round((this.floorS + 1e-6) * 1e6) / 1e6;
    this.floorS = timeS;
    return timeS;
  }

  /**
   * The time under which something enters that happens now. Where the run goes faster than life, readings on their way are
   * seconds of the run old: it does not step over them so far that the kit would seem to have been silent.
   */
  nextNow(): number {
    const nowS = this.nowS();
    return this.next(Math.min(nowS, Math.max(this.floorS + mostSteppedS, nowS - mostMovedS * this.clock.speed)));
  }

  /**
   * Has the run gone on so far beyond `wantedS` that something of that time can only stand in the past? Half a real second
   * is bridged instead: links are jittery.
   */
  isPast(wantedS: number): boolean {
    return this.floorS - wantedS > mostMovedS * this.clock.speed;
  }

  /** Time went by without input up to `timeS`; false when the run has heard of later things already. */
  pass(timeS: number): boolean {
    if (timeS <= this.floorS) return false;
    this.floorS = timeS;
    return true;
  }
}
