import type { FlowStep } from './flow-level.ts';
import { type Remark, remark } from './remark.ts';
import type { HydraulicSettings } from './settings.ts';

/** Taps and steps so near to one another are of one doing: two valves opened one after the other, s; no source. */
const stagesS = 10;

/** Taps that let no more water through. */
const closing = new Set(['emitter-shut', 'rig-pump-off']);

interface Tap {
  readonly timeS: number;
  readonly opens: boolean;
  /** Start of the step that it explained. */
  usedS: number | null;
}

/** Flow steps that no tap explains: a valve was opened or shut, or the pump set otherwise. */
export class ValveWatch {
  private pending: FlowStep[] = [];
  private taps: Tap[] = [];
  private readonly settings: HydraulicSettings;

  constructor(settings: HydraulicSettings) {
    this.settings = settings;
  }

  /** The engineer told of a change that moves the flow. */
  tap(timeS: number, event: string): void {
    this.taps.push({ timeS, opens: !closing.has(event), usedS: null });
    if (this.taps.length > 8) this.taps.shift();
  }

  /** Is there a tap near `onsetS`, whatever it did? */
  explained(onsetS: number): boolean {
    return this.taps.some((t) => this.isNear(t, onsetS));
  }

  private isNear({ timeS }: Tap, onsetS: number): boolean {
    return onsetS >= timeS - this.settings.tapAfterS && onsetS <= timeS + this.settings.tapBeforeS;
  }

  /**
   * Does a tap explain this step? No shutting explains a rise; what opens an emitter may shut the last one. A tap explains one
   * step, and what follows at once: when the flow has fallen the next emitter, told at the same time, is open already.
   */
  private explains({ onsetS, beforeLpm, afterLpm }: FlowStep): boolean {
    const near = this.taps.filter((t) => this.isNear(t, onsetS) && (t.opens || afterLpm < beforeLpm));
    const [free] = near
      .filter((t) => t.usedS === null)
      .sort((a, b) => Math.abs(a.timeS - onsetS) - Math.abs(b.timeS - onsetS));
    if (!free) return near.some((t) => t.usedS !== null && onsetS - t.usedS <= stagesS);
    for (const t of near) if (t === free || Math.abs(t.timeS - onsetS) <= stagesS) t.usedS ??= onsetS;
    return true;
  }

  /** A step is held back until its tap, if it is late, would have come. */
  step(timeS: number, step: FlowStep | null): FlowStep | null {
    if (step) this.pending.push(step);
    if (this.pending.length === 0) return null;
    this.pending = this.pending.filter((p) => !this.explains(p));
    const [first] = this.pending;
    if (!first || timeS < first.onsetS + this.settings.tapAfterS) return null;
    this.pending.shift();
    // To or from standing water is the pump watch's to tell.
    return Math.min(first.beforeLpm, first.afterLpm) < this.settings.stoppedLpm ? null : first;
  }
}

/** A step with no better name. */
export function valveRemark(timeS: number, p: FlowStep): Remark {
  const code = p.afterLpm > p.beforeLpm ? 'valve-opened' : 'valve-shut';
  return remark(code, p.onsetS, timeS, { beforeLpm: p.beforeLpm, afterLpm: p.afterLpm });
}
