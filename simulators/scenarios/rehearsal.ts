import type { EmitterSpec, HouseSpec } from '../circuit/house.ts';
import type { SensorSpec } from '../sensors/sensor-set.ts';

/**
 * The rehearsal: an invented house with six emitters, on which an engineer can learn the job at the desk. Every place and
 * size is made up. Most emitters are clear after two to four passes; the hall's is nearly clean, the study's keeps on.
 */
function emitter(
  id: string,
  name: string,
  volumeL: number,
  aloneLpm: number,
  peakNtu: number,
  pipesL: number,
): EmitterSpec {
  const looseShare = 0.72;
  const firstPassNtuL = peakNtu * volumeL * 0.5 * 1.3;
  return {
    id,
    name,
    volumeL,
    supplyL: pipesL,
    returnL: pipesL,
    pipeTanks: 25,
    zones: 2,
    pocketShare: 0.06,
    pocketExchange: 0.3,
    aloneLpm,
    looseNtuL: firstPassNtuL / looseShare,
    hardNtuL: firstPassNtuL * 0.25,
    looseShare,
    hardShare: 0.08,
    openShare: 0.01,
    cloudS: 5,
    crumbS: 30,
    settleS: 500,
  };
}

export const rehearsalHouse: HouseSpec = {
  emitters: [
    emitter('hall', 'Hall, by the stairs', 5.2, 15, 35, 0.5),
    emitter('kitchen', 'Kitchen, under the hatch', 6.4, 14, 620, 0.7),
    emitter('parlour', 'Parlour, bay', 9.5, 16, 1150, 0.9),
    emitter('study', 'Study, north wall', 7.1, 12, 780, 1.1),
    emitter('landing', 'Landing', 4.4, 13, 240, 1.2),
    emitter('loft-room', 'Loft room, gable', 6.0, 11, 460, 1.5),
  ],
  supplyL: 5,
  returnL: 4.5,
  pipeTanks: 30,
  chamber: {
    volumeL: 3,
    passEmpty: 0.1,
    passFull: 0.6,
    finerPower: 0.8,
    backgroundPower: 0.15,
    capacityNtuL: 60000,
    blockage: 3,
  },
  pump: { headBar: 1.2, runoutLpm: 26 },
  background: { levelNtu: 18, wander: 0.04, wanderS: 200, driftPerHour: -0.2, rinseL: 20 },
  mains: { turbidityNtu: 0.4, conductivityUsCm: 420, temperatureC: 11 },
  rinseLpm: 11,
  startUsCm: 640,
  startC: 38,
  roomC: 18,
  coolingS: 6000,
  system: 'sealed',
  startBar: 1.1,
  litresPerBar: 7,
};

export const rehearsalSensors: SensorSpec = {
  turbidity: { noiseNtu: 0.8, noiseShare: 0.02, loNtu: 0, hiNtu: 4000, stepNtu: 0.1, lagS: 0.4, foldNtu: null },
  turbidityOut: null,
  flow: { noise: 0.03, noiseShare: 0.01, step: 0.05, lo: 0, hi: 60, dead: 0.4 },
  pressure: { noise: 0.003, noiseShare: 0, step: 0.001, lo: -1, hi: 6 },
  temperature: { noise: 0.04, noiseShare: 0, step: 0.0625, lo: -30, hi: 125 },
  conductivity: { noise: 1, noiseShare: 0.003, step: 1, lo: 0, hi: 10000 },
  bubblesPerS: 0.002,
};
