/**
 * The top of a range that is no flat one. A sensor that folds back reads highest at some load, and lower beyond it, so
 * that every heavy pulse has the same height, and most have it twice: on the way up and on the way down. Pulses of water
 * differ by much more. Where the highest reading of a run has been come to again and again, it is the top.
 */
export class Ceiling {
  private topNtu = 0;
  private humps = 0;
  private isNear = false;
  private before = Number.NaN;
  private last = Number.NaN;

  /** One second that can be read; returns whether it stands at the top. */
  step(ntu: number): boolean {
    // The middle of three: a lone value is no top.
    const level = Math.max(Math.min(this.before, this.last), Math.min(Math.max(this.before, this.last), ntu));
    this.before = this.last;
    this.last = ntu;
    if (level > this.topNtu) {
      if (level > same * this.topNtu && this.humps > 0) this.humps = 0;
      this.topNtu = level;
    }
    if (this.topNtu < leastNtu) return false;
    if (level >= near * this.topNtu) this.isNear = true;
    else if (this.isNear && level < turned * this.topNtu) {
      this.isNear = false;
      this.humps += 1;
    }
    return this.humps >= enough && ntu >= near * this.topNtu;
  }
}

// Chosen on simulated runs, no source.
/** Share of the top that counts as near it, how much over it is another top, and the share to which a hump has turned. */
const near = 0.93;
const same = 1.08;
const turned = 0.85;
/** So many humps of one height are no chance. */
const enough = 4;
/** No sensor folds back so low. */
const leastNtu = 100;
