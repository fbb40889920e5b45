import type { Sample } from '../quantity/sample.ts';

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
  private ntu: number[] = [];
  private out: number[] = [];
  private flowSum = 0;
  private flowN = 0;
  private condSum = 0;
  private condN = 0;
  private presSum = 0;
  private presN = 0;
  private bubbles = 0;

  /** `ntu` is the conditioned reading, NaN where it must not be used. */
  add(sample: Sample, ntu: number, bubble: boolean): void {
    if (Number.isFinite(ntu)) this.ntu.push(ntu);
    if (bubble) this.bubbles += 1;
    if (sample.turbidityOutNtu !== null) this.out.push(sample.turbidityOutNtu);
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
      ntu: median(this.ntu),
      count: this.ntu.length,
      flowLpm: this.flowN > 0 ? this.flowSum / this.flowN : Number.NaN,
      outNtu: median(this.out),
      conductivityUsCm: this.condN > 0 ? this.condSum / this.condN : Number.NaN,
      pressureBar: this.presN > 0 ? this.presSum / this.presN : Number.NaN,
      bubbles: this.bubbles,
    };
    this.ntu = [];
    this.out = [];
    this.flowSum = this.flowN = this.condSum = this.condN = this.presSum = this.presN = this.bubbles = 0;
    return second;
  }
}

/** Median; NaN of nothing. Sorts in place. */
export function median(values: number[]): number {
  const n = values.length;
  if (n === 0) return Number.NaN;
  if (n === 1) return values[0] ?? Number.NaN;
  values.sort((a, b) => a - b);
  const mid = n >> 1;
  return n % 2 === 1 ? (values[mid] ?? Number.NaN) : ((values[mid - 1] ?? 0) + (values[mid] ?? 0)) / 2;
}
