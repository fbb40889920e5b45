import type { Transport, TransportListener } from '../../firmware-bridge/transport/transport.ts';
import type { Refusals } from '../../firmware-bridge/wire/refusals.ts';
import type { PackReader } from '../../firmware-bridge/wire/wire-reader.ts';
import { say } from '../core/message/message.ts';
import { Problem } from '../core/message/problem.ts';
import type { RunContext } from '../core/job/context.ts';
import type { KeptSettings } from '../core/line/settings.ts';
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
  /** What a replayed run was judged by, where its record says. */
  readonly settings?: KeptSettings;
  /** Reads what comes, where that is not our wire. */
  readonly reader?: PackReader | null;
  /** Remarks for the console. */
  readonly remarks?: readonly string[];
  /** Lets go of what was taken, when it is not going to be opened. */
  giveUp?(): Promise<void>;
  open(to: SourceListener): Promise<Pick<Transport, 'send' | 'close'>>;
}

export interface SourceListener extends TransportListener {
  /** An event of a replayed recording; `atS` on the bridge's clock. */
  replayed(event: RunEvent, atS: number): void;
  /** The source's clock when the run's stood at 0. */
  readonly zeroS: number;
  /** Counters of the reader of the wire, so that a wrong speed can be told. */
  readonly hearing: { bytes: number; oddBytes: number; packs: number; duplicates: number };
  /** What the reader refused, so that it can be said why nothing is read. */
  readonly refusals: Refusals;
}

/**
 * @param installation tells this bridge from others at a broker; at most 16 letters and digits.
 * @param log lines for the console while it runs.
 * Throws Problem: no such scenario, recording or mapping that cannot be read, port of the broker inside in use. Heavy parts are loaded only
 * by the source that needs them.
 */
export async function openSource(
  source: Source,
  installation: string,
  log: (line: string) => void,
): Promise<OpenSource> {
  switch (source.kind) {
    case 'serial':
      return await serialSource(source.path, source.baud, source.mapping);
    case 'mqtt':
      return await (await import('./broker-source.ts')).mqttSource(source, installation);
    case 'broker':
      return await (await import('./broker-source.ts')).insideSource(source, log);
    case 'replay':
      return await replaySource(source.folder, machineClock(source.speed));
    case 'simulate':
      return await simulatedSource(source);
  }
}

async function serialSource(path: string, baudRate: number, mapping: string | null): Promise<OpenSource> {
  const { serialTransport } = await import('../../firmware-bridge/transport/serial.ts');
  const clock = machineClock();
  const mapped = mapping === null ? null : (await import('./mapping-file.ts')).mappedLink(mapping, 'serial', clock);
  return {
    name: `the kit on ${path}`,
    clock,
    reader: mapped?.reader ?? null,
    simulated: false,
    title: '',
    context: null,
    obey: null,
    async open(to) {
      const transport = serialTransport({ path, baudRate, clock, hearing: to.hearing, refusals: to.refusals });
      await transport.open(to);
      return transport;
    },
  };
}

/** A recording as the kit of a run. Throws Problem as `readRecording` does. */
export async function replaySource(folder: string, clock: RunClock): Promise<OpenSource> {
  const { replayTransport, sampleLines } = await import('../../firmware-bridge/transport/replay.ts');
  const { readRecording } = await import('../recording/recording.ts');
  const recording = readRecording(folder);
  const kit = recording.context.kit?.id ?? 'urn:dev:ow:replay';
  const title = recording.context['title'];
  const kept = recording.chain?.head.settings;
  return {
    name: `the recording ${folder}`,
    clock,
    simulated: recording.context['simulated'] === true,
    title: `Replay of ${typeof title === 'string' ? title : folder}`,
    remarks: recording.remarks.map(say),
    context: recording.context,
    ...(kept ? { settings: kept } : {}),
    obey: null,
    async open(to) {
      const firstS = Math.min(recording.samples[0]?.timeS ?? 0, recording.events[0]?.timeS ?? Number.POSITIVE_INFINITY);
      // By whole seconds from where it was, so that the same readings make a second here as there.
      const zeroS = to.zeroS + Math.ceil(clock.nowS() - to.zeroS) - Math.floor(firstS);
      function* lines() {
        let next = 0;
        for (const line of sampleLines(recording.samples, kit)) {
          for (let e = recording.events[next]; e && e.timeS <= line.atS; e = recording.events[++next])
            to.replayed(e, zeroS + e.timeS);
          yield line;
        }
        for (const e of recording.events.slice(next)) to.replayed(e, zeroS + e.timeS);
      }
      const transport = replayTransport({ name: `replay of ${folder}`, source: lines(), speed: 1, clock, zeroS });
      await transport.open(to);
      return transport;
    },
  };
}

type SimulateSource = Extract<Source, { kind: 'simulate' }>;

async function simulatedSource({ scenario, seed, speed, kit }: SimulateSource): Promise<OpenSource> {
  const { scenarioNames, startSimulatedRig } = await import('../../simulators/simulate.ts');
  const { pipeTransport } = await import('../../firmware-bridge/transport/pipe.ts');
  if (!scenarioNames.includes(scenario))
    throw new Problem('config.scenario', { scenario, known: scenarioNames.join(', ') });
  const clock = machineClock(speed);
  const hex = kit === 'firmware' ? await (await import('./firmware-build.ts')).firmwareHex() : undefined;
  const rig = startSimulatedRig({ scenario, seed, clock, ...(hex === undefined ? {} : { hex }) });
  return {
    name: kit === 'firmware' ? 'the firmware in a simulated chip on the simulated rig' : 'the simulated rig',
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
