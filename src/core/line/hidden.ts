/**
 * What went by while the reading stood at the top of its range. The tail that comes out of it is the end of a washout that
 * went on up there: carried back along it to where the release's last water came by, it tells how high the pulse stood at
 * least. Without it five per cent of the visit's peak would be reckoned from the range's top, and a clear come late.
 */
export class Hidden {
  private fromL = Number.NaN;

  /** A second in which the reading was over the range, or not yet to be believed for having been there. */
  over(litres: number): void {
    if (Number.isNaN(this.fromL)) this.fromL = litres;
  }

  /**
   * A second that can be believed; null where the one before could, too.
   * @param excessNtu what stands over the background now
   * @param washoutL litres of the washout (e-folding)
   * @param releasedL litres at which the last water of the release came by
   */
  back(litres: number, excessNtu: number, washoutL: number, releasedL: number): HiddenPulse | null {
    const { fromL } = this;
    if (Number.isNaN(fromL)) return null;
    this.fromL = Number.NaN;
    const spanL = Math.max(0, litres - Math.max(fromL + riseShare * (litres - fromL), releasedL));
    const folds = Math.min(mostFolds, (sureShare * spanL) / washoutL);
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

// Chosen on simulated runs, no source.
/** Part of the hidden litres in which it still rose. */
const riseShare = 0.3;
/** Part of the way back that is counted on: tails bend, and are flatter later than at first. */
const sureShare = 0.6;
/** No further back than this: 20 times what is seen. */
const mostFolds = 3;
