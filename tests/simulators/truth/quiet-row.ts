import type { TruthRow } from '../../../simulators/truth/log.ts';

/** Settled water at 12 l/min with 20 NTU in it, one row a second; a test draws on it what it is about. */
export function quietRow(timeS: number): TruthRow {
  return {
    timeS,
    totalNtu: 20,
    backgroundNtu: 20,
    echoNtu: 0,
    settledEchoNtu: 0,
    pressureBar: 1,
    slotNtu: [0, 0, 0, 0],
    slotVisit: [1, 0, 0, 0],
    slotPassedNtuL: [100, 0, 0, 0],
    slotWaterNtuL: [0, 0, 0, 0],
    litres: timeS * 0.2,
    flowLpm: 12,
    conductivityUsCm: 1000,
    foulingNtu: 0,
    chamberLoad: 0,
    passFraction: 0.1,
    flowKnown: true,
    blind: 'none',
  };
}
