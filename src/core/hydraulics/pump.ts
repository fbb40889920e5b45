import { type Remark, remark, type Second } from './remark.ts';
import type { HydraulicSettings } from './settings.ts';

/** Flow to near nothing while it should run, and back: pump off, hose kinked, everything shut. */
export class PumpWatch {
  private running = 0;
  private lowFromS: number | null = null;
  private saidS: number | null = null;
  private readonly settings: HydraulicSettings;

  constructor(settings: HydraulicSettings) {
    this.settings = settings;
  }

  get stopped(): boolean {
    return this.saidS !== null;
  }

  /** @param expected the engineer has just stopped or shut something */
  step(s: Second, expected: boolean): Remark | null {
    const flow = s.flowLpm;
    if (flow === null) return null;
    const low = flow < Math.max(this.settings.stoppedLpm, this.settings.stoppedShare * this.running);
    if (!low) return this.flows(s, flow);
    this.lowFromS ??= s.timeS;
    if (this.saidS !== null || this.running === 0 || s.timeS - this.lowFromS < this.settings.stoppedS) return null;
    this.saidS = s.timeS;
    if (expected) return null;
    return remark('flow-stopped', this.lowFromS, s.timeS, { flowLpm: flow, beforeLpm: this.running });
  }

  private flows(s: Second, flow: number): Remark | null {
    const from = this.lowFromS;
    const said = this.saidS;
    this.lowFromS = null;
    this.saidS = null;
    // Slow mean of the running flow: what "running" means for this rig.
    this.running = this.running === 0 ? flow : this.running + 0.1 * (flow - this.running);
    if (said === null || from === null) return null;
    return remark('flow-back', from, s.timeS, { flowLpm: flow, lastedS: s.timeS - from });
  }
}
