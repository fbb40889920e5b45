/**
 * At extreme load a turbidity reading can fold back: it falls though the load still grows (Voichick et al. 2018). So a fall out of
 * saturation is no clearing until the reading has moved inside the range along a plausible tail: for a while it may fall
 * no faster than an emitter can wash out, must not rise, and must have come down by a share.
 */
export class Foldback {
  private isArmed = false;
  private goodS = 0;
  private startNtu = Number.NaN;
  private lastNtu = Number.NaN;
  private lastL = 0;

  /** One second; returns whether the reading must not be believed for having been over the range. */
  step(litres: number, ntu: number, isOver: boolean, washoutL: number): boolean {
    const dl = litres - this.lastL;
    this.lastL = litres;
    if (isOver) {
      this.isArmed = true;
      this.lastNtu = Number.NaN;
      this.goodS = 0;
      return true;
    }
    if (!this.isArmed) return false;
    if (Number.isNaN(ntu)) return true;
    const before = this.lastNtu;
    this.lastNtu = ntu;
    if (Number.isNaN(before)) {
      this.startNtu = ntu;
      return true;
    }
    const fall = Math.log(Math.max(1, before) / Math.max(1, ntu));
    const isPlain = fall < (fastestWashouts * dl) / washoutL + slack && fall > -slack;
    if (!isPlain) {
      this.goodS = 0;
      this.startNtu = ntu;
      return true;
    }
    this.goodS += 1;
    if (this.goodS >= plainS && ntu < (1 - plainFall) * this.startNtu) this.isArmed = false;
    return this.isArmed;
  }

  /** A new visit: the sensor sees other water. */
  reset(): void {
    this.isArmed = false;
  }
}

/** No emitter washes out faster than this many times its surveyed litres allow; scatter of a second on top (log). */
const fastestWashouts = 2.5;
const slack = 0.06;
/** Seconds of plain tail, and the share by which it must have fallen meanwhile. */
const plainS = 12;
const plainFall = 0.15;
