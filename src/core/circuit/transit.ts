/**
 * Litres between an emitter and the return sensor. Transit is counted in litres that flowed, never in seconds, so that
 * a stopped pump stops the clock. Volumes come from a survey and are 10-20 % off; the onsets seen refine a common
 * factor on them (all emitters of a system are surveyed by the same hand with the same tables).
 */
export interface TransitInput {
  readonly pathL: number;
  readonly emitterL: number;
  /** Share of its water that the emitter holds now. */
  readonly fill: number;
}

export class Transit {
  /** Logarithm of the factor, and its variance. Prior: 1, +-15 %. */
  private mean = 0;
  private variance = 0.15 * 0.15;

  get factor(): number {
    return Math.exp(this.mean);
  }

  get sdShare(): number {
    return Math.sqrt(this.variance);
  }

  /** Litres until the first dirt of a pass can arrive. */
  pipeL(input: TransitInput): number {
    return input.pathL * this.factor;
  }

  /** Litres until the water that the emitter held during the pass has gone by, on the mean. */
  throughL(input: TransitInput): number {
    return (input.pathL + input.emitterL * input.fill) * this.factor;
  }

  /**
   * A front was seen `litres` after the pass began. Onsets scatter (late taps, slow rises), hence the wide
   * observation spread; absurd ones are left out.
   */
  learn(litres: number, input: TransitInput): void {
    const expected = input.pathL;
    if (!(litres > 0) || expected <= 0) return;
    const seen = Math.log(litres / expected);
    if (Math.abs(seen) > 0.7) return;
    const r = 0.25 * 0.25;
    const gain = this.variance / (this.variance + r);
    this.mean += gain * (seen - this.mean);
    this.variance = Math.max(0.05 * 0.05, (1 - gain) * this.variance);
  }
}
