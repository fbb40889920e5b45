import { carried, dirtKinds, type Water } from './water.ts';

/** Own copies of imported constants for the hot loops (see pipe.ts). */
const width = carried;
const kinds = dirtKinds;

/**
 * A stirred volume. Over a step with constant inflow its content follows dc/dt = (Q/V)(c_in - c), solved exactly, so it
 * is stable and positive for any step; what leaves is what came in less what stayed, so that dirt is neither made nor
 * lost (residence-time theory of the stirred tank, e.g. Levenspiel, Chemical Reaction Engineering, 3rd ed., ch. 11-14).
 */
export class Tank {
  volumeL: number;
  readonly content: Water;

  constructor(volumeL: number, content: Water) {
    this.volumeL = volumeL;
    this.content = content.slice();
  }

  /** Push `litres` of `inflow` through; `outflow` receives the mean of what leaves (may be the same array). */
  through(litres: number, inflow: Water, outflow: Water): void {
    if (litres > 0) this.#exchange(-Math.expm1(-litres / this.volumeL), this.volumeL / litres, inflow, outflow);
  }

  /** The same through tanks of one volume in series, first to last. */
  static throughRow(row: readonly Tank[], litres: number, inflow: Water, outflow: Water): void {
    const volumeL = row[0]?.volumeL ?? 0;
    if (litres <= 0) return;
    const gone = -Math.expm1(-litres / volumeL);
    const back = volumeL / litres;
    let from = inflow;
    for (const tank of row) {
      tank.#exchange(gone, back, from, outflow);
      from = outflow;
    }
  }

  #exchange(gone: number, back: number, inflow: Water, outflow: Water): void {
    for (let k = 0; k < width; k += 1) {
      const into = inflow[k] ?? 0;
      const change = (into - (this.content[k] ?? 0)) * gone;
      this.content[k] = (this.content[k] ?? 0) + change;
      outflow[k] = into - change * back;
    }
  }

  /** Adds what is held of each kind of dirt, NTU l. */
  addHeld(sums: Float64Array): void {
    for (let k = 0; k < kinds; k += 1) sums[k] = (sums[k] ?? 0) + (this.content[k] ?? 0) * this.volumeL;
  }

  relabel(from: number, to: number): void {
    this.content[to] = (this.content[to] ?? 0) + (this.content[from] ?? 0);
    this.content[from] = 0;
  }

  /** A share of all dirt falls out; returns what fell, NTU l. */
  settle(share: number): number {
    let fallen = 0;
    for (let k = 0; k < kinds; k += 1) {
      const lost = (this.content[k] ?? 0) * share;
      this.content[k] = (this.content[k] ?? 0) - lost;
      fallen += lost;
    }
    return fallen * this.volumeL;
  }
}
