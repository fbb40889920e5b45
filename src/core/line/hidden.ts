import type { Series } from '../signal/series.ts';

/**
 * What went by while the reading stood at the top of its range. The tail that comes out of it is the end of a washout that
 * went on up there: carried back along it to where the release's last water came by, it tells how high the pulse stood at
 * least. Without it five per cent of the visit's peak would be reckoned from the range's top, and a clear come late.
 */
export class Hidden {
  private fromL = Number.NaN;
  /** Of the spell before: where it began, and where it ended. */
  private lastFromL = Number.NaN;
  private lastToL = Number.NaN;

  /** A second in which the reading was over the range, or not yet to be believed for having been there. */
  over(litres: number): void {
    if (Number.isNaN(this.fromL)) this.fromL = litres;
  }

  /** Whether something went by unseen that is still to be reckoned. */
  get isPending(): boolean {
    return !Number.isNaN(this.fromL);
  }

  /**
   * A second that can be believed, after some that could not.
   * @param excessNtu what stands over the background now
   * @param washoutL litres of the washout (e-folding)
   * @param tailL the same by the tail that has just come out of the range; NaN where it shows none
   * @param releasedL litres at which the last water of the release came by
   * @param onsetL litres at which the pulse under way began; NaN without one
   */
  back(
    litres: number,
    excessNtu: number,
    washoutL: number,
    tailL: number,
    releasedL: number,
    onsetL: number,
  ): HiddenPulse {
    // A sensor that folds back comes down on the way up too, and may pass the top of its range within a second: it has been
    // over it since the pulse began, and two spells close together are one pulse.
    const isSame = this.fromL - this.lastToL < samePulse * washoutL;
    const firstL = isSame ? this.lastFromL : this.fromL;
    // No water that comes after a release's last rises to the top anew: the reading has come back to it by folding.
    const isReturn = this.fromL > releasedL + returnShare * washoutL;
    const fromL = isReturn && onsetL < firstL ? onsetL : firstL;
    this.lastFromL = fromL;
    this.lastToL = litres;
    this.fromL = Number.NaN;
    const spanL = Math.max(0, litres - Math.max(fromL + riseShare * (litres - fromL), releasedL));
    const foldL = Number.isNaN(tailL) ? washoutL : Math.min(washoutL, Math.max(fastest * washoutL, tailL));
    const folds = Math.min(mostFolds, (sureShare * spanL) / foldL);
    const peakNtu = excessNtu * Math.exp(folds);
    return { peakNtu, passedNtuL: (peakNtu - excessNtu) * washoutL };
  }
}

export interface HiddenPulse {
  /** At least so high it stood, NTU over the background. */
  readonly peakNtu: number;
  /** At least so much of it went by unseen, NTU litres. */
  readonly passedNtuL: number;
}

/** Litres in which the tail up to now falls by e, by least squares of its logarithm; NaN where it does not fall, or is too short. */
export function tailFold(series: Series, levelNtu: number): number {
  let n = 0;
  let l = 0;
  let y = 0;
  let ll = 0;
  let ly = 0;
  const last = series.length - 1;
  const lastL = series.get(series.litres, last);
  for (let i = last; i > last - tailS && i >= series.first; i -= 1) {
    const excess = series.get(series.ntu, i) - levelNtu;
    if (Number.isNaN(excess)) break;
    if (excess < leastNtu) continue;
    const litres = series.get(series.litres, i) - lastL;
    const log = Math.log(excess);
    n += 1;
    l += litres;
    y += log;
    ll += litres * litres;
    ly += litres * log;
  }
  const spread = n * ll - l * l;
  const slope = (n * ly - l * y) / spread;
  return n >= leastTail && spread > 0 && slope < 0 ? -1 / slope : Number.NaN;
}

// Chosen on simulated runs, no source.
/** Part of the hidden litres in which it still rose. */
const riseShare = 0.3;
/** Part of the way back that is counted on: tails bend, and are flatter later than at first. */
const sureShare = 0.65;
/** No further back than this: 20 times what is seen. */
const mostFolds = 3;
/** Spells apart by less than so many washouts are of one pulse. */
const samePulse = 3;
/** So many washouts after the release's last water a reading that reaches the top has folded. */
const returnShare = 0.6;
/** A tail washes out no faster than this part of what was learned. */
const fastest = 1 / 3;
/** Seconds of tail that are looked at, the least of them that tell, and the excess under which it tells nothing. */
const tailS = 20;
const leastTail = 6;
const leastNtu = 5;
