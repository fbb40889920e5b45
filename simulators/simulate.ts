import type { PipePeer } from '../firmware-bridge/transport/pipe-peer.ts';
import type { TransportClock } from '../firmware-bridge/transport/transport.ts';
import type { RunContext } from '../src/core/job/context.ts';
import type { RunEvent } from '../src/core/job/event.ts';
import type { Sample } from '../src/core/quantity/sample.ts';
import { contextOf } from './circuit/context.ts';
import { Rig } from './circuit/rig.ts';
import { AvrKit } from './kit/avr-kit.ts';
import { isKitFault, kitFaultNames } from './kit/kit-faults.ts';
import { VirtualKit } from './kit/virtual-kit.ts';
import { Random } from './random.ts';
import { ObedientRig, siteFaultNames } from './obedient-rig.ts';
import { rehearsalHouse, rehearsalSensors } from './scenarios/rehearsal.ts';
import { channelRanges } from './sensors/hello.ts';
import { SensorSet } from './sensors/sensor-set.ts';

export interface SimulatedRigOptions {
  /** Only 'rehearsal' so far: the invented house on which one learns the job. */
  readonly scenario: string;
  readonly seed: number;
  readonly clock: TransportClock;
  /** Packs a second; 10 unless told otherwise. */
  readonly rateHz?: number;
  /** Our firmware as Intel HEX: it then runs in a simulated chip in place of the kit in software. */
  readonly hex?: string;
}

export interface SimulatedRig {
  readonly peer: PipePeer;
  readonly context: RunContext;
  readonly title: string;
  /** What the engineer told the tablet, done to the water: valves, passes, stages, pump. Unknown events change nothing. */
  obey(event: RunEvent): void;
  /** A trouble by name, see `faultNames`; throws a RangeError that names them when there is none of that name. */
  fault(name: string): void;
  /** The kit's own button: the next pack says that a pass is over. The water moves when the bridge has told so (`obey`). */
  press(): void;
  /** The physics itself, for tests and for a simulated chip that wants its pins driven. */
  readonly rig: Rig;
  readonly sensors: SensorSet;
}

export const faultNames: readonly string[] = [...kitFaultNames, ...siteFaultNames];
export const scenarioNames: readonly string[] = ['rehearsal'];

/** A rig, its sensors and its kit, that lives by the clock it is given and obeys the engineer. */
export function startSimulatedRig(options: SimulatedRigOptions): SimulatedRig {
  if (!scenarioNames.includes(options.scenario))
    throw new RangeError(`no scenario "${options.scenario}"; there is: ${scenarioNames.join(', ')}`);
  const random = new Random(`${options.scenario}/${options.seed}`);
  const rateHz = options.rateHz ?? 10;
  const rig = new Rig(rehearsalHouse, random.fork('rig'));
  const sensors = new SensorSet(rehearsalSensors, random.fork('sensors'));
  const site = new ObedientRig(rig, sensors);
  const kitUrn = 'urn:dev:mac:02000000feed0001';
  const channels = channelRanges(rehearsalSensors);
  let pressed = false;
  const measure = (elapsedS: number): Sample => {
    site.advance(elapsedS);
    return sensors.read(rig);
  };
  const avr =
    options.hex === undefined
      ? null
      : new AvrKit({
          hex: options.hex,
          clock: options.clock,
          seed: `${options.scenario}/${options.seed}/chip`,
          measure,
        });
  const kit = new VirtualKit({
    kit: kitUrn,
    clock: options.clock,
    rateHz,
    seed: `${options.scenario}/${options.seed}/kit`,
    channels,
    measure,
    pressed: () => {
      const was = pressed;
      pressed = false;
      return was;
    },
  });
  // The firmware tells its own name and ranges in its hello.
  const told = avr ? {} : { kit: { id: kitUrn, channels } };
  const context: RunContext = { ...contextOf(rehearsalHouse, rateHz), ...told };
  return {
    peer: avr ?? kit,
    context,
    title: 'Rehearsal at Pellowick House',
    obey: (event) => site.obey(event),
    fault: (name) => {
      if (avr && name === 'reset') avr.chip.reset();
      else if (isKitFault(name)) kit.fault(name);
      if (!site.fault(name) && !isKitFault(name))
        throw new RangeError(`no fault "${name}"; there is: ${faultNames.join(', ')}`);
    },
    press: () => {
      pressed = true;
      avr?.press();
    },
    rig,
    sensors,
  };
}
