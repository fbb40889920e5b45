import { type Remark, remark, type Second } from './remark.ts';

const holdS = 3;
const flowShare = 0.35;
const pressureShare = 0.35;

/** In the rinse flow and pressure fall together: the mains are gone. A kinked hose takes the flow and leaves the pressure. */
export class MainsWatch {
  private flow = 0;
  private pressure = 0;
  private seconds = 0;
  private lowFromS: number | null = null;
  private lost = false;

  get isLost(): boolean {
    return this.lost;
  }

  step(s: Second): Remark | null {
    if (s.flowLpm === null || s.pressureBar === null) return null;
    const low =
      this.seconds >= 10 &&
      this.pressure > 0.1 &&
      s.flowLpm < flowShare * this.flow &&
      s.pressureBar < pressureShare * this.pressure;
    if (!low) return this.runs(s, s.flowLpm, s.pressureBar);
    this.lowFromS ??= s.timeS;
    if (this.lost || s.timeS - this.lowFromS < holdS) return null;
    this.lost = true;
    return remark('mains-lost', this.lowFromS, s.timeS, {
      flowLpm: s.flowLpm,
      beforeLpm: this.flow,
      pressureBar: s.pressureBar,
      beforeBar: this.pressure,
    });
  }

  private runs(s: Second, flow: number, pressure: number): Remark | null {
    const from = this.lowFromS;
    const wasLost = this.lost;
    const back = flow > 0.6 * this.flow;
    if (wasLost && !back) return null;
    this.lowFromS = null;
    this.lost = false;
    // Falling readings on their way down must not lower what "running" means.
    const gain = this.seconds < 10 ? 1 / (this.seconds + 1) : flow < 0.7 * this.flow ? 0 : 0.05;
    this.flow += gain * (flow - this.flow);
    this.pressure += gain * (pressure - this.pressure);
    this.seconds++;
    if (!wasLost || from === null) return null;
    return remark('mains-back', from, s.timeS, { flowLpm: flow, lastedS: s.timeS - from });
  }

  reset(): void {
    this.flow = 0;
    this.pressure = 0;
    this.seconds = 0;
    this.lowFromS = null;
    this.lost = false;
  }
}
