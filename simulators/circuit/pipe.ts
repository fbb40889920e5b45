import { Tank } from './tank.ts';
import { carried, dirtKinds, type Water } from './water.ts';

/** Own copies of imported constants stand in the hot loops: a bundler's live binding is slow to read. */
const width = carried;
const kinds = dirtKinds;

/**
 * A pipe: plug flow, then three stirred tanks that give it its spread. A pipe that spreads like N tanks in series has
 * variance 1/N of its squared mean; three tanks that hold a share s of the volume give s^2/3, so s = sqrt(3/N). N about
 * half the Peclet number (Levenspiel, ch. 13: variance = 2/Pe for small spread, from memory).
 *
 * The plug is a row of parcels as they came in, each with its own litres, so that a stopped or changing flow is exact.
 */
export class Pipe {
  readonly volumeL: number;
  readonly #tanks: Tank[];
  readonly #plugL: number;
  /** Parcels in a ring, oldest at #head. */
  #content: Float64Array;
  #litres: Float64Array;
  #head = 0;
  #count = 0;
  /** Dirt of each kind in the parcels, NTU l: kept up to date, since a walk along them costs more than the water's way. */
  readonly #inPlug = new Float64Array(kinds);
  readonly #moved: Water = new Float64Array(width);

  /** `tanksInSeries` is N above, at least 3. */
  constructor(volumeL: number, tanksInSeries: number, fill: Water) {
    this.volumeL = volumeL;
    const mixed = Math.min(1, Math.sqrt(3 / Math.max(3, tanksInSeries)));
    const tankL = (volumeL * mixed) / 3;
    this.#tanks = [0, 1, 2].map(() => new Tank(tankL, fill));
    this.#plugL = volumeL - 3 * tankL;
    this.#content = new Float64Array(width * 64);
    this.#litres = new Float64Array(64);
    if (this.#plugL > 1e-9) this.#append(this.#plugL, fill);
  }

  /** Push `litres` in at one end; `outflow` receives the mean of what leaves at the other (may be the same array). */
  through(litres: number, inflow: Water, outflow: Water): void {
    if (litres <= 0) return;
    const plugOut = this.#moved;
    if (this.#plugL > 1e-9) {
      this.#append(litres, inflow);
      this.#take(litres, plugOut);
    } else plugOut.set(inflow);
    Tank.throughRow(this.#tanks, litres, plugOut, plugOut);
    outflow.set(plugOut);
  }

  /** Turn the flow round: what came in last leaves first. The spread stays at the outlet, which is the old inlet. */
  reverse(): void {
    const row = (litres: number, content: Water) => ({ litres, content: content.slice() });
    const fromOldInlet = [];
    for (let i = this.#count - 1; i >= 0; i -= 1) {
      const slot = (this.#head + i) % this.#litres.length;
      fromOldInlet.push(row(this.#litres[slot] ?? 0, this.#content.subarray(slot * width, (slot + 1) * width)));
    }
    for (const tank of this.#tanks) fromOldInlet.push(row(tank.volumeL, tank.content));
    this.#head = 0;
    this.#count = 0;
    this.#inPlug.fill(0);
    for (const { litres, content } of fromOldInlet) this.#append(litres, content);
    for (const tank of this.#tanks.toReversed()) this.#take(tank.volumeL, tank.content);
  }

  /** Adds what is held of each kind of dirt, NTU l. */
  addHeld(sums: Float64Array): void {
    for (let k = 0; k < kinds; k += 1) sums[k] = (sums[k] ?? 0) + (this.#inPlug[k] ?? 0);
    for (const tank of this.#tanks) tank.addHeld(sums);
  }

  relabel(from: number, to: number): void {
    for (let slot = 0; slot < this.#litres.length; slot += 1) {
      const base = slot * width;
      this.#content[base + to] = (this.#content[base + to] ?? 0) + (this.#content[base + from] ?? 0);
      this.#content[base + from] = 0;
    }
    this.#inPlug[to] = (this.#inPlug[to] ?? 0) + (this.#inPlug[from] ?? 0);
    this.#inPlug[from] = 0;
    for (const tank of this.#tanks) tank.relabel(from, to);
  }

  #append(litres: number, content: Water): void {
    for (let k = 0; k < kinds; k += 1) this.#inPlug[k] = (this.#inPlug[k] ?? 0) + litres * (content[k] ?? 0);
    // Very small parcels (a pump running down) join the last one: bounded memory, and no visible spread.
    if (this.#count > 0) {
      const last = (this.#head + this.#count - 1) % this.#litres.length;
      const held = this.#litres[last] ?? 0;
      if (held < 0.004 && held + litres < 0.008) {
        for (let k = 0; k < width; k += 1) {
          const i = last * width + k;
          this.#content[i] = ((this.#content[i] ?? 0) * held + (content[k] ?? 0) * litres) / (held + litres);
        }
        this.#litres[last] = held + litres;
        return;
      }
    }
    if (this.#count === this.#litres.length) this.#grow();
    const slot = (this.#head + this.#count) % this.#litres.length;
    this.#content.set(content, slot * width);
    this.#litres[slot] = litres;
    this.#count += 1;
  }

  /** Take from the oldest end; `out` receives the mean. */
  #take(litres: number, out: Water): void {
    out.fill(0);
    let wanted = litres;
    while (wanted > 0 && this.#count > 0) {
      const slot = this.#head;
      const held = this.#litres[slot] ?? 0;
      const part = Math.min(held, wanted);
      for (let k = 0; k < width; k += 1) out[k] = (out[k] ?? 0) + (this.#content[slot * width + k] ?? 0) * part;
      wanted -= part;
      if (part >= held) {
        this.#head = (this.#head + 1) % this.#litres.length;
        this.#count -= 1;
      } else this.#litres[slot] = held - part;
    }
    for (let k = 0; k < kinds; k += 1) this.#inPlug[k] = (this.#inPlug[k] ?? 0) - (out[k] ?? 0);
    const taken = litres - Math.max(0, wanted);
    if (taken > 0) for (let k = 0; k < width; k += 1) out[k] = (out[k] ?? 0) / taken;
  }

  #grow(): void {
    const size = this.#litres.length;
    const litres = new Float64Array(size * 2);
    const content = new Float64Array(size * 2 * width);
    for (let i = 0; i < this.#count; i += 1) {
      const slot = (this.#head + i) % size;
      litres[i] = this.#litres[slot] ?? 0;
      content.set(this.#content.subarray(slot * width, (slot + 1) * width), i * width);
    }
    this.#litres = litres;
    this.#content = content;
    this.#head = 0;
  }
}
