/** The coarsest step that is reckoned with while the readings have not shown it, l/min. */
const coarsestLpm = 0.5;
/** A step of the meter is met again and again: so often, and it is believed, however coarse. */
const believed = 3;
/** A change by less than so many steps may be the meter's alone: half a step off at each end, and half for what scatters. */
const evident = 1.5;

/** What a flow meter can show: the least move between two of its readings so far, l/min. */
export class MeterStep {
  private leastLpm = Number.POSITIVE_INFINITY;
  private times = 0;
  private lastLpm = Number.NaN;

  see(flowLpm: number): void {
    const move = Math.abs(flowLpm - this.lastLpm);
    this.lastLpm = flowLpm;
    if (!(move > 1e-6)) return;
    if (move < 0.99 * this.leastLpm) {
      this.leastLpm = move;
      this.times = 0;
    }
    if (move < 1.01 * this.leastLpm) this.times += 1;
  }

  /** Least change of the flow that is evidence of one, l/min. */
  get evidentLpm(): number {
    return evident * (this.times >= believed ? this.leastLpm : Math.min(this.leastLpm, coarsestLpm));
  }
}
