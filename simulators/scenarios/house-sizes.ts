import type { ChamberSpec, EmitterSpec, HouseSpec } from '../circuit/house.ts';
import type { Random } from '../random.ts';

/** How dirty an emitter is, in NTU at the sensor at the peak of its first pass. */
export interface EmitterWish {
  readonly name?: string;
  readonly peakNtu: number;
  /** Hard deposit: its crumbs bring this share of the first pass's dirt, over `crumbS`. */
  readonly hardRatio?: number;
  readonly crumbS?: number;
  readonly microbore?: boolean;
}

export interface HouseWish {
  readonly emitters: number;
  readonly wish: (index: number) => EmitterWish;
  readonly passEmpty?: number;
  readonly backgroundNtu?: number;
  readonly capacityNtuL?: number;
  readonly blockage?: number;
  readonly flowLpm?: readonly [number, number];
}

export function drawEmitter(
  random: Random,
  id: string,
  wish: EmitterWish,
  flow: readonly [number, number],
): EmitterSpec {
  const microbore = wish.microbore ?? false;
  const aloneLpm = microbore ? random.between(3, 6) : random.between(flow[0], flow[1]);
  const volumeL = microbore ? random.between(2.5, 6) : random.logBetween(3, 16);
  const looseShare = random.between(0.35, 0.8);
  const hardShare = random.between(0.05, 0.2);
  // Half-full content; about two thirds of the height are lost while it is shaken out and spread on the way.
  const firstPassNtuL = wish.peakNtu * volumeL * 0.5 * random.between(1.8, 3.4);
  const hardRatio = wish.hardRatio ?? random.between(0, 0.12);
  return {
    id,
    name: wish.name ?? `Emitter ${id}`,
    volumeL,
    supplyL: microbore ? random.between(0.25, 0.9) : random.between(0.4, 2.5),
    returnL: microbore ? random.between(0.25, 0.9) : random.between(0.4, 2.5),
    pipeTanks: microbore ? random.between(40, 120) : random.between(12, 50),
    zones: random.whole(1, 4),
    pocketShare: random.chance(0.5) ? random.between(0.05, 0.25) : 0,
    pocketExchange: random.logBetween(0.03, 0.4),
    aloneLpm,
    looseNtuL: firstPassNtuL / looseShare,
    hardNtuL: (firstPassNtuL * hardRatio) / hardShare,
    looseShare,
    hardShare,
    openShare: random.between(0, 0.03),
    cloudS: random.between(3, 12),
    crumbS: wish.crumbS ?? random.logBetween(30, 90),
    settleS: random.logBetween(200, 1500),
  };
}

function drawChamber(random: Random, wish: HouseWish, dirtNtuL: number): ChamberSpec {
  const passEmpty = wish.passEmpty ?? random.logBetween(0.04, 0.3);
  return {
    volumeL: random.between(1.5, 6),
    passEmpty,
    passFull: Math.min(0.97, passEmpty + random.between(0.3, 0.6)),
    finerPower: random.between(0.55, 0.95),
    backgroundPower: random.between(0.1, 0.35),
    capacityNtuL: wish.capacityNtuL ?? dirtNtuL * random.between(3, 8),
    blockage: wish.blockage ?? random.between(0.5, 2),
  };
}

/** A house with sizes drawn from the typical ranges (docs/simulator.md). */
export function drawHouse(random: Random, wish: HouseWish): HouseSpec {
  const flow = wish.flowLpm ?? [random.between(5, 9), random.between(11, 24)];
  const emitters = Array.from({ length: wish.emitters }, (_, i) =>
    drawEmitter(random.fork(`emitter${i}`), `e${i + 1}`, wish.wish(i), flow),
  );
  const slowest = Math.min(...emitters.map((e) => e.aloneLpm));
  const fastest = Math.max(...emitters.map((e) => e.aloneLpm));
  const dirtNtuL = emitters.reduce((sum, e) => sum + e.looseNtuL, 0);
  return {
    emitters,
    supplyL: random.between(2.5, Math.min(12, Math.max(4, slowest * 1.5))),
    // Litres that keep the way to the sensor within about two minutes, whatever the flow.
    returnL: random.between(1, Math.min(11, Math.max(3, slowest * 1.2))),
    pipeTanks: random.between(15, 60),
    chamber: drawChamber(random, wish, dirtNtuL),
    pump: { headBar: random.between(0.8, 2), runoutLpm: fastest * random.between(1.25, 2) },
    background: {
      levelNtu: wish.backgroundNtu ?? random.logBetween(5, 80),
      wander: random.between(0.02, 0.12),
      wanderS: random.between(90, 400),
      driftPerHour: random.between(-0.3, 0.2),
      rinseL: random.between(10, 40),
    },
    mains: {
      turbidityNtu: random.logBetween(0.2, 1.5),
      conductivityUsCm: random.logBetween(150, 700),
      temperatureC: random.between(7, 16),
    },
    rinseLpm: random.between(6, 15),
    startUsCm: random.between(1300, 3200),
    startC: random.between(32, 50),
    roomC: random.between(15, 21),
    coolingS: random.between(3000, 9000),
    system: random.chance(0.75) ? 'sealed' : 'open-vented',
    startBar: random.between(0.8, 1.4),
    litresPerBar: random.between(3, 12),
  };
}
