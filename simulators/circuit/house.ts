/** A house (or small hall) as the physics sees it: every size, no state. Litres are litres of water. */
export interface EmitterSpec {
  readonly id: string;
  readonly name: string;
  /** Water content, full. */
  readonly volumeL: number;
  /** Own pipes to and from the common ones. */
  readonly supplyL: number;
  readonly returnL: number;
  /** Spread of those pipes, as tanks in series. */
  readonly pipeTanks: number;
  /** Stirred zones that the water meets on its way through. */
  readonly zones: number;
  /** Share of the content that stands aside (corners, blocked waterways) and how fast it mixes: litres per litre of flow. */
  readonly pocketShare: number;
  readonly pocketExchange: number;
  /** Flow when this emitter alone is open and the rest of the rig is clean. */
  readonly aloneLpm: number;
  /** Loose and hard deposits, NTU l. */
  readonly looseNtuL: number;
  readonly hardNtuL: number;
  /** Share of each that a full pass of 30 s sets free. */
  readonly looseShare: number;
  readonly hardShare: number;
  /** Share of the loose deposit that the first rush of water takes along at the opening. */
  readonly openShare: number;
  /** How long loosened dirt takes to mix into the water: the cloud of loose dirt, and crumbs of hard deposit that wear away. */
  readonly cloudS: number;
  readonly crumbS: number;
  /** Time constant of settling in standing water. */
  readonly settleS: number;
}

export interface ChamberSpec {
  readonly volumeL: number;
  /** Share of fresh dirt that passes an empty chamber, and a full one. */
  readonly passEmpty: number;
  readonly passFull: number;
  /** What passed once is finer: its pass fraction is passed to this power (below 1). */
  readonly finerPower: number;
  /** The background is the finest of all. */
  readonly backgroundPower: number;
  /** Dirt that fills it, NTU l, and how much its resistance grows by then (times the rig's own). */
  readonly capacityNtuL: number;
  readonly blockage: number;
}

export interface PumpSpec {
  /** Head at no flow, bar, and flow at no head, l/min. */
  readonly headBar: number;
  readonly runoutLpm: number;
}

export interface BackgroundSpec {
  /** Level that the loop comes to with an empty chamber, NTU. */
  readonly levelNtu: number;
  /** Slow wander of its source: relative size and time constant. */
  readonly wander: number;
  readonly wanderS: number;
  /** Drift of the source, share per hour (negative: the system gets cleaner). */
  readonly driftPerHour: number;
  /** Litres of rinse water after which the source has fallen to 1/e. */
  readonly rinseL: number;
}

export interface HouseSpec {
  readonly emitters: readonly EmitterSpec[];
  /** Common pipes and hoses, from the rig to the branches and back to the sensor. */
  readonly supplyL: number;
  readonly returnL: number;
  readonly pipeTanks: number;
  readonly chamber: ChamberSpec;
  readonly pump: PumpSpec;
  readonly background: BackgroundSpec;
  readonly mains: { readonly turbidityNtu: number; readonly conductivityUsCm: number; readonly temperatureC: number };
  /** Mains flow in the rinse with one emitter open, l/min. */
  readonly rinseLpm: number;
  /** Water at the start. */
  readonly startUsCm: number;
  readonly startC: number;
  readonly roomC: number;
  /** Time constant of heat loss to the room. */
  readonly coolingS: number;
  readonly system: 'sealed' | 'open-vented';
  readonly startBar: number;
  /** Litres that raise the pressure by one bar (air and expansion vessel). */
  readonly litresPerBar: number;
}
