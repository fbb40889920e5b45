/** Kit time (`up`) -> bridge time. One per kit. */
export class Aligner {
  /**
   * @param boot the kit's start count.
   * @param upS seconds since the kit's start, by its clock.
   * @param arrivalS when the pack arrived, on the bridge's monotonic clock, seconds.
   * @param late the kit had kept this pack: it is placed in the past and teaches the clock nothing.
   * @returns when the pack was made, on the bridge's monotonic clock, seconds. Strictly increasing for packs in order.
   */
  align(_boot: number, _upS: number, arrivalS: number, _late = false): number {
    return arrivalS;
  }
}
