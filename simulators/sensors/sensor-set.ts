import { channels } from '../../src/core/quantity/channels.ts';
import { emptySample, roundToChannel, type Sample } from '../../src/core/quantity/sample.ts';
import type { Rig } from '../circuit/rig.ts';
import { at, conductivity, heat, turbidity } from '../circuit/water.ts';
import type { Random } from '../random.ts';
import { Bubbles } from './bubbles.ts';
import { SimpleSensor, type SimpleSpec } from './simple.ts';
import { TurbiditySensor, type TurbiditySpec } from './turbidity.ts';

export interface SensorSpec {
  readonly turbidity: TurbiditySpec;
  readonly turbidityOut: TurbiditySpec | null;
  readonly flow: SimpleSpec | null;
  readonly pressure: SimpleSpec;
  readonly temperature: SimpleSpec;
  readonly conductivity: SimpleSpec | null;
  readonly bubblesPerS: number;
}

/** What the kit measures of the rig: one `Sample` per call, in our units, rounded as the boundary rounds. */
export class SensorSet {
  readonly spec: SensorSpec;
  readonly bubbles: Bubbles;
  readonly turbidity: TurbiditySensor;
  readonly turbidityOut: TurbiditySensor | null;
  readonly flow: SimpleSensor | null;
  readonly pressure: SimpleSensor;
  readonly supplyC: SimpleSensor;
  readonly returnC: SimpleSensor;
  readonly conductivity: SimpleSensor | null;

  constructor(spec: SensorSpec, random: Random) {
    this.spec = spec;
    this.bubbles = new Bubbles(random.fork('bubbles'), spec.bubblesPerS);
    this.turbidity = new TurbiditySensor(spec.turbidity, random.fork('turbidity'), this.bubbles);
    this.turbidityOut = spec.turbidityOut && new TurbiditySensor(spec.turbidityOut, random.fork('out'), null);
    this.flow = spec.flow && new SimpleSensor(spec.flow, random.fork('flow'));
    this.pressure = new SimpleSensor(spec.pressure, random.fork('pressure'));
    this.supplyC = new SimpleSensor(spec.temperature, random.fork('supply'));
    this.returnC = new SimpleSensor(spec.temperature, random.fork('return'));
    this.conductivity = spec.conductivity && new SimpleSensor(spec.conductivity, random.fork('conductivity'));
  }

  read(rig: Rig): Sample {
    const sample = emptySample(rig.timeS);
    sample.turbidityNtu = this.turbidity.read(rig.timeS, turbidity(rig.atSensor));
    sample.turbidityOutNtu = this.turbidityOut?.read(rig.timeS, turbidity(rig.chambers.content)) ?? null;
    sample.flowLpm = this.flow?.read(rig.flowLpm) ?? null;
    sample.pressureBar = this.pressure.read(rig.gaugeBar);
    sample.supplyC = this.supplyC.read(at(rig.supply, heat));
    sample.returnC = this.returnC.read(at(rig.atSensor, heat));
    sample.conductivityUsCm = this.conductivity?.read(at(rig.atSensor, conductivity)) ?? null;
    for (const channel of channels) {
      const value = sample[channel.key];
      if (value !== null) sample[channel.key] = roundToChannel(value, channel.decimals);
    }
    return sample;
  }
}
