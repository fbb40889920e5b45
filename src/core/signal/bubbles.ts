import { insert, remove } from '../quantity/sorted.ts';

/**
 * Causal Hampel identifier for bubbles: positive bursts of a few readings. A reading that stands out above the running
 * median of the last `size` readings is replaced by that median; a real front passes once it fills half the window, so
 * it is delayed by at most `size / 2` readings. Falls are never held back: bubbles only add light.
 *
 * Hampel 1974; Pearson 2002 (outlier identifier by median and MAD).
 */
export interface Conditioned {
  value: number;
  bubble: boolean;
}

export class BubbleFilter {
  private readonly window: number[] = [];
  private readonly sorted: number[] = [];

  /** `size`: odd number of readings. */
  step(value: number, size: number, tolerance: number): Conditioned {
    this.window.push(value);
    insert(this.sorted, value);
    while (this.window.length > size) remove(this.sorted, this.window.shift() ?? 0);
    const median = this.sorted[(this.sorted.length - 1) >> 1] ?? value;
    const bubble = this.window.length >= 3 && value - median > tolerance;
    return { value: bubble ? median : value, bubble };
  }

  reset(): void {
    this.window.length = 0;
    this.sorted.length = 0;
  }
}
