import { Random } from '../random.ts';
import { Chambers } from './chambers.ts';
import { Emitter, systemWater } from './emitter.ts';
import type { HouseSpec } from './house.ts';
import { Hydraulics } from './hydraulics.ts';
import { Pipe } from './pipe.ts';
import { Pressure } from './pressure.ts';
import { background, carried, conductivity, dirtKinds, echo, firstSlot, heat, slotCount, type Water } from './water.ts';

/** One pass (or the rush at an opening): which visit it belongs to, and the slot in which its dirt is counted. */
export interface PassTag {
  readonly visit: number;
  readonly slot: number;
}

/**
 * The whole simulated rig: circuit, pump, chambers, heat, pressure. `step` moves it by a step of at most about 0.25 s;
 * everything else is a hand on a valve. It knows no wall clock and draws its slow wander from its own seeded stream.
 *
 * Way of the water: chambers -> pump -> common supply -> open emitters in parallel -> common return -> sensor -> chambers.
 * In a rinse: mains -> the same way -> sensor -> drain.
 */
export class Rig {
  readonly house: HouseSpec;
  readonly emitters: readonly Emitter[];
  readonly chambers: Chambers;
  readonly hydraulics: Hydraulics;
  readonly pressure: Pressure;
  timeS = 0;
  rinsing = false;
  /** Mains supply in the rinse, 0 lost to 1 full. */
  mainsSupply = 1;
  /** Heat put into the water, as K a minute of the whole loop; stops at the set temperature. */
  heaterKPerMin = 0;
  heaterSetC = 45;
  /** Litres through the sensor so far. */
  litres = 0;
  /** Water at the return sensor now, and after the chambers. */
  readonly atSensor: Water;
  readonly supply: Water;
  /** Dirt that passed the sensor, NTU l: of a slot, since its pass began (what it took over included); else since the start. */
  readonly passed = new Float64Array(dirtKinds);
  /** Books of dirt, NTU l: what came in from walls and mains, what left by drain, chambers' emptying and dropped water. */
  cameInNtuL = 0;
  leftNtuL = 0;
  readonly #return: Pipe;
  readonly #supplyPipe: Pipe;
  #reversed = false;
  readonly #random: Random;
  #wander = 0;
  #rinsedL = 0;
  #visit = 0;
  #passCount = 0;
  readonly #tags: (PassTag | null)[] = Array.from({ length: slotCount }, () => null);
  #slot = 0;
  readonly #mix: Water = new Float64Array(carried);
  readonly #branch: Water = new Float64Array(carried);
  #open: number[] = [];
  #shares: number[] = [];

  constructor(house: HouseSpec, random: Random) {
    this.house = house;
    this.#random = random;
    const fill = systemWater(house.background.levelNtu, house.startUsCm, house.startC);
    this.emitters = house.emitters.map((spec) => new Emitter(spec, fill));
    this.#supplyPipe = new Pipe(house.supplyL, house.pipeTanks, fill);
    this.#return = new Pipe(house.returnL, house.pipeTanks, fill);
    this.chambers = new Chambers(house.chamber, fill);
    this.hydraulics = new Hydraulics(house);
    this.pressure = new Pressure(house);
    // What the first rush frees while all stand open belongs to no visit.
    this.beginPass();
    this.atSensor = fill.slice();
    this.supply = fill.slice();
    this.#wander = random.normal();
  }

  get flowLpm(): number {
    return this.hydraulics.flowLpm;
  }

  /**
   * What a gauge in the return hose shows, bar. The running pump's suction lowers what stands on the closed system. In the
   * rinse the hose runs open to the drain: what stands is what drives the water through it, with the square of the flow
   * (turbulent), so flow and pressure fall together when the mains do.
   */
  get gaugeBar(): number {
    const { pump, rinseLpm, startBar } = this.house;
    if (this.rinsing) return startBar * (this.flowLpm / rinseLpm) ** 2;
    return this.pressure.bar - 0.1 * (this.flowLpm / pump.runoutLpm) ** 2;
  }

  /** A visit begins: what earlier visits left in the water is no longer this one's own. Returns the visit's number. */
  beginVisit(): number {
    this.#visit += 1;
    this.beginPass();
    return this.#visit;
  }

  /** The next slot for dirt set free from now on; its old content joins the pass after it, or the echo. */
  beginPass(): PassTag {
    const slot = this.#passCount % slotCount;
    this.#passCount += 1;
    const old = this.#tags[slot];
    if (old) {
      const next = (slot + 1) % slotCount;
      const heir = this.#tags[next];
      const to = heir && heir.visit === old.visit ? next : null;
      this.#relabel(firstSlot + slot, to === null ? echo : firstSlot + to);
      const kind = firstSlot + slot;
      if (to !== null) this.passed[firstSlot + to] = (this.passed[firstSlot + to] ?? 0) + (this.passed[kind] ?? 0);
      this.passed[kind] = 0;
      for (const emitter of this.emitters) {
        if (to !== null) emitter.relabelLoosened(slot, to);
        else emitter.layDown(slot);
      }
    }
    const tag = { visit: this.#visit, slot };
    this.#tags[slot] = tag;
    this.#slot = slot;
    return tag;
  }

  tags(): readonly (PassTag | null)[] {
    return this.#tags;
  }

  openEmitter(index: number): void {
    const emitter = this.emitters[index];
    if (!emitter || emitter.open) return;
    emitter.open = true;
    emitter.rush(this.#slot);
  }

  shutEmitter(index: number): void {
    const emitter = this.emitters[index];
    if (emitter) emitter.open = false;
  }

  /** A pass that was told of only afterwards. */
  shakeEmitter(index: number, passS: number): void {
    this.emitters[index]?.shake(passS, this.#slot);
  }

  /** Cleaner through the chambers: raises the conductivity of the whole loop by so much once mixed. */
  dose(riseUsCm: number): void {
    const content = this.chambers.content;
    content[conductivity] = (content[conductivity] ?? 0) + (riseUsCm * this.loopL()) / this.chambers.spec.volumeL;
  }

  /** Every emitter to a share of full; dropped water leaves, mains water fills. */
  fillEmitters(share: number): void {
    const mains = systemWater(
      this.house.mains.turbidityNtu,
      this.house.mains.conductivityUsCm,
      this.house.mains.temperatureC,
    );
    for (const emitter of this.emitters) {
      const lost = emitter.fillTo(share, mains);
      if (lost > 0) this.leftNtuL += lost;
      else this.cameInNtuL -= lost;
    }
  }

  emptyChambers(): void {
    this.leftNtuL += this.chambers.empty();
  }

  reverseFlow(): void {
    this.#supplyPipe.reverse();
    this.#return.reverse();
    for (const emitter of this.emitters) emitter.reverse();
    this.#reversed = !this.#reversed;
  }

  /** Litres from the emitter's inlet zone to the sensor: its water and the pipes behind it. */
  pathL(index: number): number {
    const emitter = this.emitters[index];
    const common = this.#reversed ? this.#supplyPipe : this.#return;
    return emitter ? emitter.waterL + emitter.pathL + common.volumeL : common.volumeL;
  }

  step(dtS: number): void {
    this.timeS += dtS;
    this.#flow(dtS);
    const litres = (this.hydraulics.flowLpm / 60) * dtS;
    const before = this.atSensor[heat] ?? 0;
    const source = this.#source(dtS, litres);
    if (litres > 0) this.#circulate(dtS, litres, source);
    for (const [i, emitter] of this.emitters.entries()) {
      const part = this.#open.indexOf(i);
      const through = part < 0 ? 0 : litres * (this.#shares[part] ?? 0);
      emitter.age(dtS, through, this.#slot, this.house.roomC, this.house.coolingS);
    }
    this.pressure.step(dtS, (this.atSensor[heat] ?? 0) - before, this.loopL());
  }

  /** Dirt of each kind on its way round, NTU l: in pipes and open emitters. */
  inWater(): Float64Array {
    const sums = new Float64Array(dirtKinds);
    this.#supplyPipe.addHeld(sums);
    this.#return.addHeld(sums);
    for (const emitter of this.emitters) if (emitter.open) emitter.addHeld(sums);
    return sums;
  }

  /**
   * What will be left of the echo after so long without another pass, NTU: evened out over all water that now goes round
   * (`held`: what `inWater` gave), and less with each way round, of which the chambers let ever less pass.
   */
  settledEchoNtu(held: Float64Array, afterS: number): number {
    const sums = held.slice();
    this.chambers.addHeld(sums);
    const rounds = ((this.hydraulics.flowLpm / 60) * afterS) / this.loopL();
    return ((sums[echo] ?? 0) / this.loopL()) * this.chambers.passAgainFraction ** rounds;
  }

  /** Litres that now go round. */
  loopL(): number {
    let volumeL = this.#supplyPipe.volumeL + this.#return.volumeL + this.chambers.spec.volumeL;
    for (const emitter of this.emitters) {
      if (emitter.open) volumeL += emitter.waterL + emitter.spec.supplyL + emitter.spec.returnL;
    }
    return volumeL;
  }

  /** All dirt there is, NTU l: with `cameInNtuL` and `leftNtuL` the books must close. */
  dirtNtuL(): number {
    const sums = new Float64Array(dirtKinds);
    for (const part of [this.#supplyPipe, this.#return, this.chambers]) part.addHeld(sums);
    let sum = sums.reduce((all, held) => all + held, this.chambers.caughtNtuL);
    for (const emitter of this.emitters) sum += emitter.heldInWater() + emitter.deposits();
    return sum;
  }

  #flow(dtS: number): void {
    const open: number[] = [];
    for (const [i, emitter] of this.emitters.entries()) if (emitter.open) open.push(i);
    this.#open = open;
    const target = this.rinsing
      ? this.mainsSupply * Math.min(this.house.rinseLpm * open.length ** 0.5, this.hydraulics.target(open, 0))
      : this.hydraulics.target(open, this.chambers.resistance);
    this.hydraulics.step(dtS, target);
    this.#shares = this.hydraulics.shares(open);
    if (open.length === 0) this.hydraulics.flowLpm = 0;
  }

  /** Dirt that the walls give off in this step, NTU l: slow, wandering, and washed out by a rinse. */
  #source(dtS: number, litres: number): number {
    const spec = this.house.background;
    const pull = -Math.expm1(-dtS / spec.wanderS);
    this.#wander += -pull * this.#wander + Math.sqrt(pull * (2 - pull)) * this.#random.normal();
    const finest = this.house.chamber.passEmpty ** this.house.chamber.backgroundPower;
    const drift = Math.max(0.05, 1 + (spec.driftPerHour * this.timeS) / 3600);
    const wander = Math.max(0, 1 + spec.wander * this.#wander);
    const rinsed = Math.exp(-this.#rinsedL / spec.rinseL);
    return litres * spec.levelNtu * (1 - finest) * drift * wander * rinsed;
  }

  #circulate(dtS: number, litres: number, source: number): void {
    const flow = this.supply;
    if (this.rinsing) {
      flow.fill(0);
      flow[background] = this.house.mains.turbidityNtu;
      flow[conductivity] = this.house.mains.conductivityUsCm;
      flow[heat] = this.house.mains.temperatureC;
      this.cameInNtuL += this.house.mains.turbidityNtu * litres;
      this.#rinsedL += litres;
    } else flow.set(this.chambers.content);
    if (this.heaterKPerMin > 0 && (flow[heat] ?? 0) < this.heaterSetC)
      flow[heat] = (flow[heat] ?? 0) + (this.heaterKPerMin * dtS * this.loopL()) / 60 / litres;
    this.cameInNtuL += source;
    flow[background] = (flow[background] ?? 0) + source / 2 / litres;
    const run = this.#branch;
    const into = this.#mix;
    const [away, back] = this.#reversed ? [this.#return, this.#supplyPipe] : [this.#supplyPipe, this.#return];
    away.through(litres, flow, flow);
    into.fill(0);
    for (const [n, i] of this.#open.entries()) {
      const share = this.#shares[n] ?? 0;
      run.set(flow);
      this.emitters[i]?.through(litres * share, run);
      for (let k = 0; k < into.length; k += 1) into[k] = (into[k] ?? 0) + (run[k] ?? 0) * share;
    }
    into[background] = (into[background] ?? 0) + source / 2 / litres;
    back.through(litres, into, into);
    this.atSensor.set(into);
    this.litres += litres;
    for (let k = 0; k < this.passed.length; k += 1) this.passed[k] = (this.passed[k] ?? 0) + (into[k] ?? 0) * litres;
    if (this.rinsing) {
      for (let k = 0; k < this.passed.length; k += 1) this.leftNtuL += (into[k] ?? 0) * litres;
    } else this.chambers.take(litres, into);
  }

  #relabel(from: number, to: number): void {
    this.#supplyPipe.relabel(from, to);
    this.#return.relabel(from, to);
    for (const emitter of this.emitters) emitter.relabel(from, to);
    this.atSensor[to] = (this.atSensor[to] ?? 0) + (this.atSensor[from] ?? 0);
    this.atSensor[from] = 0;
  }
}
