import type { HouseSpec } from './house.ts';

/**
 * Who gets how much water. The pump gives head - a Q^2 (a falling parabola); the common part and each emitter lose K Q^2
 * (turbulent; Darcy and Weisbach with a constant factor), emitters are in parallel: 1/sqrt(K) add up. Then
 * Q = sqrt(head / sum of K). A new state is reached with a time constant of about a second (water's inertia, from memory).
 */
export class Hydraulics {
  readonly #pump: HouseSpec['pump'];
  readonly #common: number;
  readonly #emitterK: number[];
  flowLpm = 0;
  pumpOn = true;
  /** 1 open, towards 0 a kinked hose or a throttled valve: scales the flow. */
  throttle = 1;
  static readonly settleS = 1;

  constructor(house: HouseSpec) {
    this.#pump = house.pump;
    const head = house.pump.headBar;
    const pumpK = head / house.pump.runoutLpm ** 2;
    const totals = house.emitters.map((e) => head / e.aloneLpm ** 2);
    const easiest = Math.min(...totals);
    // The common pipes lose 30 % of what the easiest emitter's circuit loses beyond the pump itself.
    this.#common = Math.max(0, 0.3 * (easiest - pumpK));
    this.#emitterK = totals.map((k) => Math.max(1e-6, k - pumpK - this.#common));
  }

  /** Flow towards which the circuit tends with these emitters open. */
  target(open: readonly number[], chamberResistance: number): number {
    if (!this.pumpOn || open.length === 0) return 0;
    const conductance = open.reduce((sum, i) => sum + 1 / Math.sqrt(this.#emitterK[i] ?? 1), 0);
    const pumpK = this.#pump.headBar / this.#pump.runoutLpm ** 2;
    const total = pumpK + this.#common * chamberResistance + 1 / conductance ** 2;
    return this.throttle * Math.sqrt(this.#pump.headBar / total);
  }

  step(dtS: number, targetLpm: number): void {
    this.flowLpm += (targetLpm - this.flowLpm) * -Math.expm1(-dtS / Hydraulics.settleS);
    if (this.flowLpm < 0.005) this.flowLpm = 0;
  }

  /** How a flow parts among the open emitters; shares add up to 1. */
  shares(open: readonly number[]): number[] {
    const each = open.map((i) => 1 / Math.sqrt(this.#emitterK[i] ?? 1));
    const all = each.reduce((sum, x) => sum + x, 0);
    return each.map((x) => x / all);
  }
}
