import { median, quantile } from '../quantity/robust.ts';
import { type Remark, remark } from './remark.ts';
import type { HydraulicSettings } from './settings.ts';

const windowS = 120;
const keepS = 900;

/**
 * The capture chamber is full: at the same pump setting and the same valves the flow has sunk while the background has
 * climbed. The background here is the lower tenth of two minutes of turbidity, which a release hardly touches.
 */
export class ChamberWatch {
  private seconds: { timeS: number; flow: number; ntu: number }[] = [];
  private said = false;
  private readonly settings: HydraulicSettings;

  constructor(settings: HydraulicSettings) {
    this.settings = settings;
  }

  /** Valves, pump or chamber were changed. */
  forget(emptied = false): void {
    this.seconds = [];
    if (emptied) this.said = false;
  }

  step(timeS: number, flowLpm: number, turbidityNtu: number): Remark | null {
    const all = this.seconds;
    all.push({ timeS, flow: flowLpm, ntu: turbidityNtu });
    while ((all[0]?.timeS ?? timeS) < timeS - keepS) all.shift();
    const from = all[0]?.timeS ?? timeS;
    if (this.said || timeS - from < 2 * windowS || Math.floor(timeS) % 10 !== 0) return null;
    const early = all.filter((s) => s.timeS < from + windowS);
    const late = all.filter((s) => s.timeS > timeS - windowS);
    const flowBefore = median(early.map((s) => s.flow));
    const flowNow = median(late.map((s) => s.flow));
    const ntuBefore = quantile(
      early.map((s) => s.ntu),
      0.1,
    );
    const ntuNow = quantile(
      late.map((s) => s.ntu),
      0.1,
    );
    const climb = ntuNow - ntuBefore;
    if (flowBefore < this.settings.stoppedLpm || flowNow < this.settings.stoppedLpm) return null;
    if (flowNow > (1 - this.settings.chamberFlowShare) * flowBefore) return null;
    if (climb < Math.max(this.settings.chamberTurbidityNtu, this.settings.chamberTurbidityShare * ntuBefore))
      return null;
    this.said = true;
    return remark('chamber-full', from, timeS, {
      flowLpm: flowNow,
      beforeLpm: flowBefore,
      backgroundNtu: ntuNow,
      beforeNtu: ntuBefore,
    });
  }
}
