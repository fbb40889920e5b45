import type { FlowStep } from './flow-level.ts';
import { type Remark, remark } from './remark.ts';
import type { HydraulicSettings } from './settings.ts';

/** Flow steps that no tap explains: a valve was opened or shut, or the pump set otherwise. */
export class ValveWatch {
  private pending: FlowStep | null = null;
  private taps: number[] = [];
  private readonly settings: HydraulicSettings;

  constructor(settings: HydraulicSettings) {
    this.settings = settings;
  }

  /** The engineer told of a change that moves the flow. */
  tap(timeS: number): void {
    this.taps.push(timeS);
    if (this.taps.length > 8) this.taps.shift();
  }

  /** Is there a tap that explains what happened at `onsetS`? */
  explained(onsetS: number): boolean {
    return this.taps.some((t) => onsetS >= t - this.settings.tapAfterS && onsetS <= t + this.settings.tapBeforeS);
  }

  /** A step is held back until its tap, if it is late, would have come. */
  step(timeS: number, step: FlowStep | null): FlowStep | null {
    if (step) this.pending = step;
    const p = this.pending;
    if (!p) return null;
    if (this.explained(p.onsetS)) {
      this.pending = null;
      return null;
    }
    if (timeS < p.onsetS + this.settings.tapAfterS) return null;
    this.pending = null;
    // To or from standing water is the pump watch's to tell.
    if (Math.min(p.beforeLpm, p.afterLpm) < this.settings.stoppedLpm) return null;
    return p;
  }
}

/** A step with no better name. */
export function valveRemark(timeS: number, p: FlowStep): Remark {
  const code = p.afterLpm > p.beforeLpm ? 'valve-opened' : 'valve-shut';
  return remark(code, p.onsetS, timeS, { beforeLpm: p.beforeLpm, afterLpm: p.afterLpm });
}
