import type { EmitterSpec } from './house.ts';
import { Pipe } from './pipe.ts';
import { Tank } from './tank.ts';
import { background, dirtKinds, firstSlot, heat, slotCount, type Water, water } from './water.ts';

/** A pass of this length with full vigour frees the shares that the spec states. */
const fullPassS = 30;

/**
 * One emitter with its own two pipes and its sludge. Dirt moves: deposit -> (a pass) -> loosened -> water -> return.
 * Loosened dirt mixes into the water with first-order kinetics: the cloud of loose dirt in seconds, the crumbs of hard
 * deposit in minutes and only as far as water flows over them (our own model: shape plausible, sizes invented).
 * Standing water drops its dirt back on the loose deposit (Stokes: 10 to 50 µm grains of magnetite fall 0.2 to 6 mm/s).
 */
export class Emitter {
  readonly spec: EmitterSpec;
  open = false;
  /** 0 at rest, 1 a good shake; above 1 a rough one. */
  vigour = 0;
  looseNtuL: number;
  hardNtuL: number;
  /** Of each slot, NTU l: loosened and not yet in the water. */
  readonly cloud = new Float64Array(slotCount);
  readonly crumbs = new Float64Array(slotCount);
  readonly #supply: Pipe;
  readonly #return: Pipe;
  #reversed = false;
  readonly #zones: Tank[];
  readonly #pocket: Tank | null;
  /** Zones and pocket. */
  readonly #tanks: readonly Tank[];
  #filled = 1;

  constructor(spec: EmitterSpec, fill: Water) {
    this.spec = spec;
    this.looseNtuL = spec.looseNtuL;
    this.hardNtuL = spec.hardNtuL;
    this.#supply = new Pipe(spec.supplyL, spec.pipeTanks, fill);
    this.#return = new Pipe(spec.returnL, spec.pipeTanks, fill);
    const zoneL = (spec.volumeL * (1 - spec.pocketShare)) / spec.zones;
    this.#zones = Array.from({ length: spec.zones }, () => new Tank(zoneL, fill));
    this.#pocket = spec.pocketShare > 0 ? new Tank(spec.volumeL * spec.pocketShare, fill) : null;
    this.#tanks = this.#pocket ? [...this.#zones, this.#pocket] : [...this.#zones];
  }

  get waterL(): number {
    return this.spec.volumeL * this.#filled;
  }

  /** Litres from this emitter's outlet to the common pipe. */
  get pathL(): number {
    return this.#reversed ? this.spec.supplyL : this.spec.returnL;
  }

  /** Push water through pipes and emitter; `flow` holds what comes in and then what leaves. */
  through(litres: number, flow: Water): void {
    const [inlet, outlet] = this.#reversed ? [this.#return, this.#supply] : [this.#supply, this.#return];
    inlet.through(litres, flow, flow);
    Tank.throughRow(this.#zones, litres, flow, flow);
    this.#exchange(litres);
    outlet.through(litres, flow, flow);
  }

  /** Loosening, wear, settling and heat loss over a step; `litres` is what flows in the same time. */
  age(dtS: number, litres: number, slot: number, roomC: number, coolingS: number): void {
    if (this.vigour > 0) this.#loosen(dtS, this.vigour, slot);
    this.#mixIn(dtS, litres);
    const standing = litres > 0 ? 0.1 : this.vigour > 0 ? 0 : 1;
    if (standing > 0) this.#settle(-Math.expm1((-standing * dtS) / this.spec.settleS));
    const cooled = -Math.expm1(-dtS / coolingS);
    for (const tank of this.#tanks)
      tank.content[heat] = (tank.content[heat] ?? 0) + (roomC - (tank.content[heat] ?? 0)) * cooled;
  }

  /** A pass told of only when it was over: the dirt of `passS` seconds of shaking comes loose at once. */
  shake(passS: number, slot: number): void {
    this.#loosen(passS, 1, slot);
  }

  /** The first rush of water at an opening. */
  rush(slot: number): void {
    const freed = this.looseNtuL * this.spec.openShare;
    this.looseNtuL -= freed;
    this.cloud[slot] = (this.cloud[slot] ?? 0) + freed;
  }

  /** Dirt loosened in an earlier visit and never carried off lies down again. */
  layDown(slot: number): void {
    this.looseNtuL += this.loosened(slot);
    this.cloud[slot] = 0;
    this.crumbs[slot] = 0;
  }

  /** Set the water content to a share of full. Returns dirt that left with dropped water, NTU l (negative: came with fill). */
  fillTo(share: number, fill: Water): number {
    const before = this.heldInWater();
    for (const tank of this.#tanks) {
      const volumeL = (tank.volumeL / this.#filled) * share;
      if (volumeL > tank.volumeL) {
        const old = tank.volumeL / volumeL;
        for (let k = 0; k < fill.length; k += 1)
          tank.content[k] = (tank.content[k] ?? 0) * old + (fill[k] ?? 0) * (1 - old);
      }
      tank.volumeL = volumeL;
    }
    this.#filled = share;
    return before - this.heldInWater();
  }

  reverse(): void {
    this.#supply.reverse();
    this.#return.reverse();
    this.#zones.reverse();
    this.#reversed = !this.#reversed;
  }

  relabel(from: number, to: number): void {
    this.#supply.relabel(from, to);
    this.#return.relabel(from, to);
    for (const tank of this.#tanks) tank.relabel(from, to);
  }

  /** Loosened dirt of one slot goes over to another. */
  relabelLoosened(from: number, to: number): void {
    for (const store of [this.cloud, this.crumbs]) {
      store[to] = (store[to] ?? 0) + (store[from] ?? 0);
      store[from] = 0;
    }
  }

  loosened(slot: number): number {
    return (this.cloud[slot] ?? 0) + (this.crumbs[slot] ?? 0);
  }

  /** Adds what this emitter's water and pipes hold of each kind of dirt, NTU l. */
  addHeld(sums: Float64Array): void {
    this.#supply.addHeld(sums);
    this.#return.addHeld(sums);
    for (const tank of this.#tanks) tank.addHeld(sums);
  }

  heldInWater(): number {
    const sums = new Float64Array(dirtKinds);
    this.addHeld(sums);
    return sums.reduce((sum, held) => sum + held, 0);
  }

  deposits(): number {
    return this.looseNtuL + this.hardNtuL + this.#allLoosened();
  }

  #allLoosened(): number {
    let sum = 0;
    for (let s = 0; s < slotCount; s += 1) sum += this.loosened(s);
    return sum;
  }

  /** The pocket swaps water with the first zone; both sides relax to their mean, exactly. */
  #exchange(litres: number): void {
    const zone = this.#zones[0];
    const pocket = this.#pocket;
    if (!zone || !pocket) return;
    const sum = 1 / zone.volumeL + 1 / pocket.volumeL;
    const swappedL = -Math.expm1(-litres * this.spec.pocketExchange * sum) / sum;
    for (let k = 0; k < zone.content.length; k += 1) {
      const move = swappedL * ((pocket.content[k] ?? 0) - (zone.content[k] ?? 0));
      zone.content[k] = (zone.content[k] ?? 0) + move / zone.volumeL;
      pocket.content[k] = (pocket.content[k] ?? 0) - move / pocket.volumeL;
    }
  }

  #loosen(dtS: number, vigour: number, slot: number): void {
    const share = (whole: number) => 1 - (1 - whole) ** ((dtS * vigour) / fullPassS);
    const loose = this.looseNtuL * share(this.spec.looseShare);
    const hard = this.hardNtuL * share(this.spec.hardShare);
    this.looseNtuL -= loose;
    this.hardNtuL -= hard;
    // A hard deposit breaks into some dust and mostly crumbs.
    this.cloud[slot] = (this.cloud[slot] ?? 0) + loose + 0.25 * hard;
    this.crumbs[slot] = (this.crumbs[slot] ?? 0) + 0.75 * hard;
  }

  #mixIn(dtS: number, litres: number): void {
    if (this.#allLoosened() === 0) return;
    const cloudShare = -Math.expm1(-dtS / this.spec.cloudS);
    const washed = Math.min(1, (litres * 60) / dtS / this.spec.aloneLpm);
    const crumbShare = -Math.expm1((-dtS * washed) / this.spec.crumbS);
    for (let s = 0; s < this.cloud.length; s += 1) {
      const cloud = this.cloud[s] ?? 0;
      const crumbs = this.crumbs[s] ?? 0;
      if (cloud === 0 && crumbs === 0) continue;
      const freed = cloud * cloudShare + crumbs * crumbShare;
      this.cloud[s] = cloud * (1 - cloudShare);
      this.crumbs[s] = crumbs * (1 - crumbShare);
      const kind = firstSlot + s;
      const each = freed / this.#zones.length;
      for (const zone of this.#zones) zone.content[kind] = (zone.content[kind] ?? 0) + each / zone.volumeL;
    }
  }

  #settle(share: number): void {
    for (const tank of this.#tanks) this.looseNtuL += tank.settle(share);
  }
}

/** Water of a heating system at its start. */
export function systemWater(ntu: number, usCm: number, temperatureC: number): Water {
  const w = water(0, usCm, temperatureC);
  w[background] = ntu;
  return w;
}
