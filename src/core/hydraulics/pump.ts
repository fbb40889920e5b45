import { type Remark, remark, type Second } from './remark.ts';
import type { HydraulicSettings } from './settings.ts';

/** Flow to near nothing while it should run, and back: pump off, hose kinked, everything shut. */
export class PumpWatch {
  private running = 0;
  private lowFromS: number | null = null;
  private isStopped = false;
  private isSaid = false;
  private readonly settings: HydraulicSettings;

  constructor(settings: HydraulicSettings) {
    this.settings = settings;
  }

  get stopped(): boolean {
    return this.isStopped;
  }

  /** @param expected the engineer has stopped or shut something; a stop that outlasts it is told when it is over */
  step(s: Second, expected: boolean): Remark | null {
    const flow = s.flowLpm;
    if (flow === null) return null;
    const low = flow < Math.max(this.settings.stoppedLpm, this.settings.stoppedShare * this.running);
    if (!low) return this.flows(s, flow);
    this.lowFromS ??= s.timeS;
    if (this.running === 0 || s.timeS - this.lowFromS < this.settings.stoppedS) return null;
    this.isStopped = true;
    if (expected || this.isSaid) return null;
    this.isSaid = true;
    return remark('flow-stopped', this.lowFromS, s.timeS, { flowLpm: flow, beforeLpm: this.running });
  }

  private flows(s: Second, flow: number): Remark | null {
    const from = this.lowFromS;
    const wasStopped = this.isStopped;
    this.lowFromS = null;
    this.isStopped = false;
    this.isSaid = false;
    // Slow mean of the running flow: what "running" means for this rig.
    this.running = this.running === 0 ? flow : this.running + 0.1 * (flow - this.running);
    if (!wasStopped || from === null) return null;
    return remark('flow-back', from, s.timeS, { flowLpm: flow, lastedS: s.timeS - from });
  }
}
