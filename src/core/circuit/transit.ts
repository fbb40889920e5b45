/**
 * Litres between an emitter and the return sensor. Transit is counted in litres that flowed, never in seconds, so that
 * a stopped pump stops the clock. Volumes come from a survey and are 10-20 % off; where only the mean over all emitters
 * is known, one emitter may lie further off. The onsets seen refine both: a factor common to the system (one hand, one
 * set of tables) and one for each emitter. Errors are taken as log-normal.
 */
export interface TransitInput {
  readonly emitter: string;
  readonly pathL: number;
  /** Whether `pathL` is this emitter's own and not the mean over emitters. */
  readonly isOwnPath: boolean;
  readonly emitterL: number;
  /** Share of its water that the emitter holds now. */
  readonly fill: number;
}

interface Belief {
  mean: number;
  variance: number;
}

export class Transit {
  private readonly common: Belief = { mean: 0, variance: 0.1 * 0.1 };
  private readonly own = new Map<string, Belief>();

  private belief(input: TransitInput): Belief {
    const known = this.own.get(input.emitter);
    if (known) return known;
    const spread = input.isOwnPath ? ownSpread : meanSpread;
    return { mean: this.common.mean, variance: this.common.variance + spread * spread };
  }

  factor(input: TransitInput): number {
    return Math.exp(this.belief(input).mean);
  }

  /** Standard deviation of the litres, as a share of them. */
  sdShare(input: TransitInput): number {
    return Math.sqrt(this.belief(input).variance);
  }

  /** Litres until the first dirt of a pass can arrive. */
  pipeL(input: TransitInput): number {
    return input.pathL * this.factor(input);
  }

  /** Litres until the water that the emitter held during the pass has gone by, on the mean. */
  throughL(input: TransitInput): number {
    return (input.pathL + input.emitterL * input.fill) * this.factor(input);
  }

  /**
   * A front was seen `litres` after the pass began, known to `sdL` litres (late taps, a beginning that was not told).
   * Absurd ones are left out.
   */
  learn(litres: number, sdL: number, input: TransitInput): void {
    this.take(litres, input.pathL, sdL, onset, input);
  }

  /**
   * The water that the emitter held was seen to have gone by `litres` after the pass ended, known to `sdL` litres (late taps).
   * Absurd ones are left out: another pulse fell, or fell in steps.
   */
  learnThrough(litres: number, sdL: number, input: TransitInput): void {
    this.take(litres, input.pathL + input.emitterL * input.fill, sdL, fall, input);
  }

  private take(litres: number, expected: number, sdL: number, kind: Lesson, input: TransitInput): void {
    if (!(litres > 0) || expected <= 0) return;
    const seen = Math.log(litres / expected);
    const r = kind.spread * kind.spread + (sdL / expected) ** 2;
    const belief = this.belief(input);
    if (Math.abs(seen - belief.mean) > kind.gateSds * Math.sqrt(belief.variance + r)) return;
    const spread = input.isOwnPath ? ownSpread : meanSpread;
    if (!this.own.has(input.emitter)) update(this.common, seen, r + spread * spread, 0.03);
    update(belief, seen, r, 0.07);
    this.own.set(input.emitter, belief);
  }
}

function update(belief: Belief, seen: number, r: number, leastSd: number): void {
  const gain = belief.variance / (belief.variance + r);
  belief.mean += gain * (seen - belief.mean);
  belief.variance = Math.max(leastSd * leastSd, (1 - gain) * belief.variance);
}

/** How far one emitter's litres stray from the survey: its own path, or the mean over all. */
const ownSpread = 0.1;
const meanSpread = 0.18;
/** How far a front or a fall strays from the litres that it tells of (standard deviation of the logarithm), and beyond how many
 * standard deviations it is taken for another's. */
interface Lesson {
  readonly spread: number;
  readonly gateSds: number;
}
/** A front is declared on its slope. */
const onset: Lesson = { spread: 0.15, gateSds: 3 };
/** A pass is made in sweeps, and the last may bring little: `core/line/fall.ts`. */
export const fallSpread = 0.16;
const fall: Lesson = { spread: fallSpread, gateSds: 2.5 };
