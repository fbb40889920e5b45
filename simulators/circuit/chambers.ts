import type { ChamberSpec } from './house.ts';
import { background, carried, dirtKinds, echo, firstSlot, type Water } from './water.ts';

/**
 * The rig's capture chambers: they hold back a share of the dirt and let the rest pass on into the circuit, where it
 * comes round again as the echo. The more they hold, the more passes and the less flows. Shape (quadratic in the load,
 * so that the trouble comes late) is our own; sizes are invented.
 */
export class Chambers {
  readonly spec: ChamberSpec;
  readonly content: Water;
  caughtNtuL = 0;
  readonly #inflow: Water = new Float64Array(carried);

  constructor(spec: ChamberSpec, fill: Water) {
    this.spec = spec;
    this.content = fill.slice();
  }

  get load(): number {
    return Math.min(1, this.caughtNtuL / this.spec.capacityNtuL);
  }

  /** Share of fresh dirt that passes now. */
  get passFraction(): number {
    return this.spec.passEmpty + (this.spec.passFull - this.spec.passEmpty) * this.load ** 2;
  }

  /** Share of what passed once already that passes again. */
  get passAgainFraction(): number {
    return this.passFraction ** this.spec.finerPower;
  }

  /** Resistance now, times that of the clean rig. */
  get resistance(): number {
    return 1 + this.spec.blockage * this.load ** 2;
  }

  /** Water from the sensor comes in; an equal amount has left with the content as it was before. */
  take(litres: number, inflow: Water): void {
    const fresh = this.passFraction;
    const again = this.passAgainFraction;
    const finest = fresh ** this.spec.backgroundPower;
    const mixed = this.#inflow;
    mixed.set(inflow);
    mixed[background] = (inflow[background] ?? 0) * finest;
    let echoes = (inflow[echo] ?? 0) * again;
    for (let k = firstSlot; k < dirtKinds; k += 1) {
      echoes += (inflow[k] ?? 0) * fresh;
      mixed[k] = 0;
    }
    mixed[echo] = echoes;
    let caught = 0;
    for (let k = 0; k < dirtKinds; k += 1) caught += (inflow[k] ?? 0) - (mixed[k] ?? 0);
    this.caughtNtuL += caught * litres;
    const share = litres / this.spec.volumeL;
    for (let k = 0; k < mixed.length; k += 1)
      this.content[k] = (this.content[k] ?? 0) + ((mixed[k] ?? 0) - (this.content[k] ?? 0)) * share;
  }

  /** Rinsed out and put back; returns the dirt that left. */
  empty(): number {
    const out = this.caughtNtuL;
    this.caughtNtuL = 0;
    return out;
  }

  /** Adds what its water holds of each kind of dirt, NTU l; what was caught is no longer water's. */
  addHeld(sums: Float64Array): void {
    for (let k = 0; k < dirtKinds; k += 1) sums[k] = (sums[k] ?? 0) + (this.content[k] ?? 0) * this.spec.volumeL;
  }
}
