import { at, background, conductivity, echo, firstSlot, slotCount, turbidity } from '../circuit/water.ts';
import type { Site } from '../engineer/site.ts';

/** Why a perfect listener could not have seen the water now. */
export type Blindness = 'none' | 'stuck' | 'dark' | 'gone' | 'over-range' | 'silent' | 'no-flow';

/** The noise-free state at one instant, for the truth. NTU at the return sensor unless named otherwise. */
export interface TruthRow {
  readonly timeS: number;
  readonly totalNtu: number;
  readonly backgroundNtu: number;
  readonly echoNtu: number;
  /** The echo spread evenly over the water that goes round. */
  readonly evenEchoNtu: number;
  /** Fresh dirt by slot. */
  readonly slotNtu: readonly number[];
  /** Visit to which each slot belongs (0: none). */
  readonly slotVisit: readonly number[];
  /** Of the visit under way: fresh dirt at the sensor, that passed it so far, and that is still to come (NTU l). */
  readonly ownNtu: number;
  readonly ownPassedNtuL: number;
  readonly ownToComeNtuL: number;
  readonly litres: number;
  readonly flowLpm: number;
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

/** `lastSampleS`: when the recording's newest row was taken. */
export function truthRow(site: Site, lastSampleS: number): TruthRow {
  const { rig } = site;
  const w = rig.atSensor;
  const visit = site.visit?.number ?? -1;
  const slotNtu: number[] = [];
  const slotVisit: number[] = [];
  let ownNtu = 0;
  let ownPassedNtuL = 0;
  let ownToComeNtuL = 0;
  const tags = rig.tags();
  for (let s = 0; s < slotCount; s += 1) {
    const owner = tags[s]?.visit ?? 0;
    const ntu = at(w, firstSlot + s);
    slotNtu.push(ntu);
    slotVisit.push(owner);
    if (owner !== visit) continue;
    ownNtu += ntu;
    ownPassedNtuL += at(rig.passed, firstSlot + s);
    ownToComeNtuL += rig.underWay(s);
  }
  return {
    timeS: rig.timeS,
    totalNtu: turbidity(w),
    backgroundNtu: at(w, background),
    echoNtu: at(w, echo),
    evenEchoNtu: rig.evenEchoNtu(),
    slotNtu,
    slotVisit,
    ownNtu,
    ownPassedNtuL,
    ownToComeNtuL,
    litres: rig.litres,
    flowLpm: rig.flowLpm,
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
