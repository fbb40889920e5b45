import type { TransportListener } from '../../firmware-bridge/transport/transport.ts';
import { Problem } from '../core/message/problem.ts';
import type { RunContext } from '../core/job/context.ts';
import type { RunEvent } from '../core/job/event.ts';
import type { RunClock } from './clock.ts';
import { machineClock } from './clock.ts';
import type { Source } from './config.ts';

/** Where a run's readings come from, ready to be opened. */
export interface OpenSource {
  /** For people. */
  readonly name: string;
  readonly clock: RunClock;
  readonly simulated: boolean;
  readonly title: string;
  /** What is known of the system there; null: nobody knows yet. */
  readonly context: RunContext | null;
  /** The simulated rig does what the engineer did. */
  readonly obey: ((event: RunEvent) => void) | null;
  open(to: SourceListener): Promise<{ close(): Promise<void> }>;
}

export interface SourceListener extends TransportListener {
  /** An event of a replayed recording; `atS` on the bridge's clock. */
  replayed(event: RunEvent, atS: number): void;
  /** Counters of the reader of the wire, so that a wrong speed can be told. */
  readonly hearing: { bytes: number; oddBytes: number; packs: number; duplicates: number };
}

/**
 * @param installation tells this bridge from others at a broker; at most 16 letters and digits.
 * Throws Problem: no such scenario, recording that cannot be read. Heavy parts are loaded only
 * by the source that needs them.
 */
export async function openSource(source: Source, installation: string): Promise<OpenSource> {
  switch (source.kind) {
    case 'serial':
      return await serialSource(source.path, source.baud);
    case 'mqtt':
      return await mqttSource(source.url, installation);
    case 'replay':
      return await replaySource(source.folder, source.speed);
    case 'simulate':
      return await simulatedSource(source.scenario, source.seed, source.speed);
  }
}

async function serialSource(path: string, baudRate: number): Promise<OpenSource> {
  const { serialTransport } = await import('../../firmware-bridge/transport/serial.ts');
  const clock = machineClock();
  return {
    name: `the kit on ${path}`,
    clock,
    simulated: false,
    title: '',
    context: null,
    obey: null,
    async open(to) {
      const transport = serialTransport({ path, baudRate, clock, hearing: to.hearing });
      await transport.open(to);
      return transport;
    },
  };
}

async function mqttSource(url: string, installation: string): Promise<OpenSource> {
  const { mqttTransport } = await import('../../firmware-bridge/transport/mqtt.ts');
  const clock = machineClock();
  // What stands before the @ is a password: never shown.
  const shown = url.replace(/\/\/[^/@]*@/, '//');
  return {
    name: `the kits on the broker ${shown}`,
    clock,
    simulated: false,
    title: '',
    context: null,
    obey: null,
    async open(to) {
      const transport = mqttTransport({ url, clientId: `limpid${installation}`, clock, hearing: to.hearing });
      await transport.open(to);
      return transport;
    },
  };
}

async function replaySource(folder: string, speed: number): Promise<OpenSource> {
  const { replayTransport, sampleLines } = await import('../../firmware-bridge/transport/replay.ts');
  const { readRecording } = await import('../recording/recording.ts');
  const recording = readRecording(folder);
  const clock = machineClock(speed);
  const kit = recording.context.kit?.id ?? 'urn:dev:ow:replay';
  const title = recording.context['title'];
  return {
    name: `the recording ${folder}`,
    clock,
    simulated: recording.context['simulated'] === true,
    title: `Replay of ${typeof title === 'string' ? title : folder}`,
    context: recording.context,
    obey: null,
    async open(to) {
      const firstS = Math.min(recording.samples[0]?.timeS ?? 0, recording.events[0]?.timeS ?? Number.POSITIVE_INFINITY);
      const zeroS = clock.nowS() - firstS;
      function* lines() {
        let next = 0;
        for (const line of sampleLines(recording.samples, kit)) {
          for (let e = recording.events[next]; e && e.timeS <= line.atS; e = recording.events[++next])
            to.replayed(e, zeroS + e.timeS);
          yield line;
        }
        for (const e of recording.events.slice(next)) to.replayed(e, zeroS + e.timeS);
      }
      const transport = replayTransport({ name: `replay of ${folder}`, source: lines(), speed: 1, clock });
      await transport.open(to);
      return transport;
    },
  };
}

async function simulatedSource(scenario: string, seed: number, speed: number): Promise<OpenSource> {
  const { scenarioNames, startSimulatedRig } = await import('../../simulators/simulate.ts');
  const { pipeTransport } = await import('../../firmware-bridge/transport/pipe.ts');
  if (!scenarioNames.includes(scenario))
    throw new Problem('config.scenario', { scenario, known: scenarioNames.join(', ') });
  const clock = machineClock(speed);
  const rig = startSimulatedRig({ scenario, seed, clock });
  return {
    name: 'the simulated rig',
    clock,
    simulated: true,
    title: rig.title,
    context: rig.context,
    obey: (event) => rig.obey(event),
    async open(to) {
      const transport = pipeTransport('simulated rig', rig.peer, clock);
      await transport.open(to);
      return transport;
    },
  };
}
