import { Cusum } from '../changepoint/cusum.ts';
import { madSd, median } from '../quantity/robust.ts';

/** A step of the flow from one level to another. */
export interface FlowStep {
  readonly onsetS: number;
  readonly saidS: number;
  readonly beforeLpm: number;
  readonly afterLpm: number;
}

/** Logarithm of flow: a step is a share, whatever the level. Standing water counts as this much, l/min. */
const standing = 0.2;
const learnS = 10;
const settleS = 4;

/**
 * The level the flow holds, and its steps: a two-sided CUSUM on the logarithm of the flow against the last regime, k = 1
 * and h = 8 standard deviations (a false step about once in ten million quiet seconds), never finer than 3 %. A step is
 * what the flow does within seconds; slow drifting moves the level and is no step.
 */
export class FlowLevel {
  private values: number[] = [];
  private times: number[] = [];
  private cusum: Cusum | null = null;
  private change: { onsetS: number; at: number } | null = null;
  private reference = 0;

  /** Present level, l/min; null until it has held for ten seconds. */
  get levelLpm(): number | null {
    return this.cusum ? Math.exp(median(this.values.slice(-30))) : null;
  }

  step(timeS: number, flowLpm: number, leastShare: number): FlowStep | null {
    this.values.push(Math.log(Math.max(flowLpm, standing)));
    this.times.push(timeS);
    if (this.values.length > 120) {
      this.values.shift();
      this.times.shift();
      if (this.change) this.change = { ...this.change, at: this.change.at - 1 };
    }
    if (this.change) return this.settle(timeS, leastShare);
    if (!this.cusum) {
      if (this.values.length >= learnS) this.learn();
      return null;
    }
    const said = this.cusum.step(this.values[this.values.length - 1] ?? 0, timeS);
    if (!said) return null;
    const at = Math.max(
      0,
      this.times.findIndex((t) => t >= said.onsetT),
    );
    this.change = { onsetS: this.times[at] ?? timeS, at };
    return null;
  }

  /** Wait until the new level shows, so that the step's size is known and not guessed. */
  private settle(timeS: number, leastShare: number): FlowStep | null {
    const change = this.change;
    if (!change || this.values.length - change.at < settleS + 2) return null;
    const before = median(this.values.slice(Math.max(0, change.at - 8), change.at));
    const after = median(this.values.slice(-settleS));
    this.change = null;
    this.values = this.values.slice(change.at);
    this.times = this.times.slice(change.at);
    this.cusum = null;
    if (this.values.length >= learnS) this.learn();
    if (!(Math.abs(after - before) >= Math.log1p(leastShare))) return null;
    return { onsetS: change.onsetS, saidS: timeS, beforeLpm: Math.exp(before), afterLpm: Math.exp(after) };
  }

  private learn(): void {
    const recent = this.values.slice(-learnS);
    this.reference = median(recent);
    this.cusum = new Cusum({ reference: { mean: this.reference, sd: Math.max(0.03, madSd(recent)) }, k: 1, h: 8 });
  }

  /** The pipes were changed on purpose: learn the level again. */
  forget(): void {
    this.values = [];
    this.times = [];
    this.cusum = null;
    this.change = null;
  }
}
