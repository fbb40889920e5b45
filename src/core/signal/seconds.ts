import { quantileOfSorted } from '../quantity/robust.ts';
import type { Sample } from '../quantity/sample.ts';
import { insert } from '../quantity/sorted.ts';

/**
 * What one second of a run brought: the unit of thought of the line room. Readings come at 1 to 20 Hz, unevenly and
 * with holes; the second evens that out, bounds the cost whatever the rate, and costs at most one second of delay.
 */
export interface Second {
  /** End of the second, run-clock seconds (whole). */
  readonly endS: number;
  /** Median of the second's conditioned turbidity readings, or NaN. */
  readonly ntu: number;
  readonly count: number;
  /** Mean flow, l/min, or NaN. */
  readonly flowLpm: number;
  /** Median turbidity after the chambers, or NaN. */
  readonly outNtu: number;
  readonly conductivityUsCm: number;
  readonly pressureBar: number;
  /** Readings of this second set aside as bubbles. */
  readonly bubbles: number;
}

/** Gathers readings into whole seconds. The caller closes a second when time has passed it. */
export class SecondGatherer {
  /** Of the second under way, each in ascending order. */
  private readonly ntu: number[] = [];
  private readonly out: number[] = [];
  private flowSum = 0;
  private flowN = 0;
  private condSum = 0;
  private condN = 0;
  private presSum = 0;
  private presN = 0;
  private bubbles = 0;

  /** `ntu` is the conditioned reading, NaN where it must not be used. */
  add(sample: Sample, ntu: number, bubble: boolean): void {
    if (Number.isFinite(ntu)) insert(this.ntu, ntu);
    if (bubble) this.bubbles += 1;
    if (sample.turbidityOutNtu !== null) insert(this.out, sample.turbidityOutNtu);
    if (sample.flowLpm !== null) {
      this.flowSum += sample.flowLpm;
      this.flowN += 1;
    }
    if (sample.conductivityUsCm !== null) {
      this.condSum += sample.conductivityUsCm;
      this.condN += 1;
    }
    if (sample.pressureBar !== null) {
      this.presSum += sample.pressureBar;
      this.presN += 1;
    }
  }

  close(endS: number): Second {
    const second: Second = {
      endS,
      ntu: quantileOfSorted(this.ntu, 0.5),
      count: this.ntu.length,
      flowLpm: this.flowN > 0 ? this.flowSum / this.flowN : Number.NaN,
      outNtu: quantileOfSorted(this.out, 0.5),
      conductivityUsCm: this.condN > 0 ? this.condSum / this.condN : Number.NaN,
      pressureBar: this.presN > 0 ? this.presSum / this.presN : Number.NaN,
      bubbles: this.bubbles,
    };
    this.ntu.length = this.out.length = 0;
    this.flowSum = this.flowN = this.condSum = this.condN = this.presSum = this.presN = this.bubbles = 0;
    return second;
  }
}
