import { between, indexAt } from '../quantity/in-time.ts';
import { median, quantile } from '../quantity/robust.ts';
import { type Remark, remark } from './remark.ts';
import type { HydraulicSettings } from './settings.ts';

/** Background is taken over so long, flow over the shorter one, seconds. */
const windowS = 120;
const flowS = 30;
/** Before a tap the valve may have moved already: so much of a stretch's end says nothing of the chamber. */
const lateTapS = 40;
const keepS = 900;
/** How often it is looked at, s: a chamber loads over minutes, and to sort two of them is dear. */
const lookEveryS = 10;

/**
 * The capture chamber is full: at the same pump setting the flow has sunk while the background has climbed. Emitters
 * differ in what flows through them alone, so the flow is compared within each stretch of unchanged valves only, and
 * what was lost adds up over the stretches until the chamber is emptied. The background is the lower tenth of two minutes
 * of turbidity, which a release hardly touches, against the lowest of the run.
 */
export class ChamberWatch {
  private seconds: { timeS: number; flow: number; ntu: number }[] = [];
  /** Logarithm of the flow lost in the stretches before this one. */
  private lost = 0;
  private cleanNtu = Number.POSITIVE_INFINITY;
  private fromS = Number.NaN;
  private said = false;
  private readonly settings: HydraulicSettings;

  constructor(settings: HydraulicSettings) {
    this.settings = settings;
  }

  /** Valves, pump or chamber were changed: a new stretch begins. */
  forget(emptied = false): void {
    const endS = (this.seconds.at(-1)?.timeS ?? 0) - lateTapS;
    this.lost += this.lossUntil(endS);
    this.seconds = [];
    if (!emptied) return;
    this.said = false;
    this.lost = 0;
    this.cleanNtu = Number.POSITIVE_INFINITY;
    this.fromS = Number.NaN;
  }

  /** Logarithm of the flow at the beginning of this stretch over that at `endS`; 0 where the stretch is too short. */
  private lossUntil(endS: number): number {
    const fromS = this.seconds[0]?.timeS ?? endS;
    if (endS - fromS < 2 * flowS) return 0;
    const flowOf = (a: number, b: number): number => median(between(this.seconds, a, b).map((s) => s.flow));
    const [before, now] = [flowOf(fromS, fromS + flowS), flowOf(endS - flowS, endS)];
    const { stoppedLpm } = this.settings;
    return before > stoppedLpm && now > stoppedLpm ? Math.log(before / now) : 0;
  }

  /** @param leastLpm what the flow must have lost at the least: the meter's own steps fill no chamber */
  step(timeS: number, flowLpm: number, turbidityNtu: number, leastLpm: number): Remark | null {
    const all = this.seconds;
    all.push({ timeS, flow: flowLpm, ntu: turbidityNtu });
    if (Number.isNaN(this.fromS)) this.fromS = timeS;
    // The beginning of a stretch is what the rest of it is held against: of a long one the middle goes.
    if (timeS - (all[0]?.timeS ?? timeS) > keepS) all.splice(2 * flowS, 1);
    const from = all[0]?.timeS ?? timeS;
    if (this.said || timeS - from < windowS || Math.floor(timeS) % lookEveryS !== 0) return null;
    // The second at which the window begins is not of it.
    const late = all.slice(indexAt(all, timeS - windowS + 1e-9));
    const ntuNow = quantile(
      late.map((s) => s.ntu),
      0.1,
    );
    const before = this.cleanNtu;
    this.cleanNtu = Math.min(before, ntuNow);
    const { chamberFlowShare, chamberTurbidityNtu, chamberTurbidityShare } = this.settings;
    const lost = 1 - Math.exp(-Math.max(0, this.lost + this.lossUntil(timeS)));
    if (lost < chamberFlowShare) return null;
    if (!(ntuNow - before >= Math.max(chamberTurbidityNtu, chamberTurbidityShare * before))) return null;
    const flowNow = median(late.map((s) => s.flow));
    const beforeLpm = flowNow / (1 - lost);
    if (beforeLpm - flowNow < leastLpm) return null;
    this.said = true;
    return remark('chamber-full', this.fromS, timeS, {
      flowLpm: flowNow,
      beforeLpm,
      backgroundNtu: ntuNow,
      beforeNtu: before,
    });
  }
}
