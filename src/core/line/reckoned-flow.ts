/**
 * The flow that litres are reckoned with where no sensor measures it: a slow usual one at first, so that waiting errs to
 * the long side, until the fronts of passes show how fast the water goes.
 */
export class ReckonedFlow {
  /** l/min */
  lpm: number;
  private readonly slowestLpm: number;
  /** How well it is known: variance of its logarithm. */
  private variance = spread * spread;

  constructor(slowestLpm: number) {
    this.lpm = this.slowestLpm = slowestLpm;
  }

  /** Another emitter was opened: another way round has another resistance. */
  begin(): void {
    this.variance = Math.max(this.variance, emitterSpread * emitterSpread);
  }

  /**
   * A front came `litres` (reckoned) after its pass began, known to `sdL`, over a path of `pathL`, known to a share `sdShare`
   * of it: path litres over reckoned litres tell how much faster the water goes than was thought.
   */
  learn(litres: number, sdL: number, pathL: number, sdShare: number): void {
    if (!(litres > 0)) return;
    const off = Math.log(pathL / litres);
    const variance = sdShare ** 2 + (sdL / litres) ** 2;
    if (off * off > 9 * (this.variance + variance)) return;
    const gain = this.variance / (this.variance + variance);
    const lpm = this.lpm * Math.exp(gain * off);
    // Slower than the slow usual flow it is not: such a front answers another pass.
    if (lpm < this.slowestLpm) return;
    this.lpm = lpm;
    this.variance *= 1 - gain;
  }
}

/** One emitter's flow is 3 to 25 l/min; from one to the next on the same rig it differs less (standard deviation of its log). */
const spread = 0.7;
const emitterSpread = 0.2;
