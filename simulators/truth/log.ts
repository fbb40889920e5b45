import { at, background, conductivity, echo, firstSlot, turbidity } from '../circuit/water.ts';
import type { Site } from '../engineer/site.ts';

/** Why a perfect listener could not have seen the water now. */
export type Blindness = 'none' | 'stuck' | 'dark' | 'gone' | 'over-range' | 'silent' | 'no-flow';

/** The noise-free state at one instant, for the truth. NTU at the return sensor unless named otherwise. */
export interface TruthRow {
  readonly timeS: number;
  readonly totalNtu: number;
  readonly backgroundNtu: number;
  readonly echoNtu: number;
  /** The level to which the echo settles: what of it the chambers do not catch in a quarter of an hour, evened out. */
  readonly settledEchoNtu: number;
  /** Fresh dirt by slot. */
  readonly slotNtu: readonly number[];
  /** Visit to which each slot belongs (0: none). */
  readonly slotVisit: readonly number[];
  /** Of each slot: dirt that passed the sensor since its pass began, and dirt in the water still on its way there, NTU l. */
  readonly slotPassedNtuL: readonly number[];
  readonly slotWaterNtuL: readonly number[];
  readonly litres: number;
  readonly flowLpm: number;
  /** What stands on the closed system, gauge, without the pump's share. */
  readonly pressureBar: number;
  readonly conductivityUsCm: number;
  readonly foulingNtu: number;
  readonly chamberLoad: number;
  readonly passFraction: number;
  /** There was a flow meter, and it spoke. */
  readonly flowKnown: boolean;
  readonly blind: Blindness;
}

/** Seconds between two rows. */
export const truthStepS = 0.5;

/** The longest visit: dirt that still goes round after it is background to whoever stands there. */
const settlingS = 900;

/** `lastSampleS`: when the recording's newest row was taken. */
export function truthRow(site: Site, lastSampleS: number): TruthRow {
  const { rig } = site;
  const w = rig.atSensor;
  const inWater = rig.inWater();
  const slots = rig.tags().map((tag, s) => ({
    owner: tag?.visit ?? 0,
    ntu: at(w, firstSlot + s),
    passedNtuL: at(rig.passed, firstSlot + s),
    waterNtuL: at(inWater, firstSlot + s),
  }));
  return {
    timeS: rig.timeS,
    totalNtu: turbidity(w),
    backgroundNtu: at(w, background),
    echoNtu: at(w, echo),
    settledEchoNtu: rig.settledEchoNtu(inWater, settlingS),
    slotNtu: slots.map((slot) => slot.ntu),
    slotVisit: slots.map((slot) => slot.owner),
    slotPassedNtuL: slots.map((slot) => slot.passedNtuL),
    slotWaterNtuL: slots.map((slot) => slot.waterNtuL),
    litres: rig.litres,
    flowLpm: rig.flowLpm,
    pressureBar: rig.pressure.bar,
    conductivityUsCm: at(w, conductivity),
    foulingNtu: site.sensors.turbidity.foulingNtu,
    chamberLoad: rig.chambers.load,
    passFraction: rig.chambers.passFraction,
    flowKnown: site.sensors.flow !== null && !site.sensors.flow.gone,
    blind: blindness(site, lastSampleS),
  };
}

/** Without news for so long, or with so little flow, nothing can be said. */
const silentS = 5;
const noFlowLpm = 0.5;

function blindness(site: Site, lastSampleS: number): Blindness {
  const { turbidity: sensor } = site.sensors;
  if (sensor.fault !== 'none') return sensor.fault;
  if (site.nowS - lastSampleS > silentS) return 'silent';
  if (sensor.blindAt(turbidity(site.rig.atSensor) + sensor.foulingNtu)) return 'over-range';
  return site.rig.flowLpm < noFlowLpm ? 'no-flow' : 'none';
}
