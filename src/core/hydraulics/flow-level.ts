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
const gapS = 8;

/**
 * The level the flow holds, and its steps: a two-sided CUSUM on the logarithm of the flow against the last regime, k = 1
 * and h = 8 standard deviations (a false step about once in ten million quiet seconds), never finer than 3 %. A step is
 * what the flow does within seconds; slow drifting moves the level and is no step.
 */
export class FlowLevel {
  private values: number[] = [];
  private times: number[] = [];
  private cusum: Cusum | null = null;
  /** Alarmed: the step lies after index `from`; it was said at index `said`. */
  private change: { from: number; said: number } | null = null;

  /** Present level, l/min; null until it has held for ten seconds. */
  get levelLpm(): number | null {
    return this.cusum ? Math.exp(median(this.values.slice(-30))) : null;
  }

  /** @param leastShare @param leastLpm what a step must move the flow by: as a share of it, and in l/min (the meter's own steps) */
  step(timeS: number, flowLpm: number, leastShare: number, leastLpm: number): FlowStep | null {
    // What happened while nobody saw is no step of now: its taps may be long past.
    if (timeS - (this.times.at(-1) ?? timeS) > gapS) this.forget();
    this.values.push(Math.log(Math.max(flowLpm, standing)));
    this.times.push(timeS);
    if (this.values.length > 120) {
      this.values.shift();
      this.times.shift();
      if (this.change) this.change = { from: Math.max(0, this.change.from - 1), said: this.change.said - 1 };
    }
    if (this.change) return this.settle(timeS, leastShare, leastLpm);
    if (!this.cusum) {
      if (this.values.length >= learnS) this.learn();
      return null;
    }
    const said = this.cusum.step(this.values[this.values.length - 1] ?? 0, timeS);
    if (!said) return null;
    this.change = { from: Math.max(0, this.times.findIndex((t) => t >= said.onsetT) - 8), said: this.values.length };
    return null;
  }

  /** Wait until the new level shows, so that the step's size is known and not guessed. */
  private settle(timeS: number, leastShare: number, leastLpm: number): FlowStep | null {
    const change = this.change;
    if (!change || this.values.length - change.said < settleS) return null;
    const at = steepest(this.values, change.from);
    const before = median(this.values.slice(Math.max(0, at - 8), at));
    const after = median(this.values.slice(-settleS));
    const onsetS = this.times[at] ?? timeS;
    this.change = null;
    this.values = this.values.slice(at);
    this.times = this.times.slice(at);
    this.cusum = null;
    if (this.values.length >= learnS) this.learn();
    const step = { onsetS, saidS: timeS, beforeLpm: Math.exp(before), afterLpm: Math.exp(after) };
    const isLarge = Math.abs(after - before) >= Math.log1p(leastShare);
    return isLarge && Math.abs(step.afterLpm - step.beforeLpm) > leastLpm ? step : null;
  }

  private learn(): void {
    const recent = this.values.slice(-learnS);
    // From one second to the next: a level that is still moving is not noise.
    const moves = recent.slice(1).map((v, i) => v - (recent[i] ?? v));
    const sd = Math.max(0.03, madSd(moves) / Math.SQRT2);
    this.cusum = new Cusum({ reference: { mean: median(recent), sd }, k: 1, h: 8 });
  }

  /** Learn the level again. */
  private forget(): void {
    this.values = [];
    this.times = [];
    this.cusum = null;
    this.change = null;
  }
}

/** Where the level changes most within three values: a slow drift that ends in a step is dated at the step. */
function steepest(values: readonly number[], from: number): number {
  let most = -1;
  let at = from + 1;
  for (let i = from + 1; i < values.length - 1; i++) {
    const move = Math.abs((values[i + 1] ?? 0) - (values[i - 1] ?? 0));
    if (move <= most) continue;
    most = move;
    at = i;
  }
  return at;
}
