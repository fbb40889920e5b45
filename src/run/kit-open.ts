import type { Transport, TransportListener, TransportState } from '../../firmware-bridge/transport/transport.ts';
import { WireReader } from '../../firmware-bridge/wire/wire-reader.ts';
import { say } from '../core/message/message.ts';
import { Problem } from '../core/message/problem.ts';
import { machineClock } from './clock.ts';
import { KitLink } from './kit-link.ts';
import type { MappedLink } from './mapping-file.ts';

export interface OpenKitLink {
  readonly link: KitLink;
  readonly isBroker: boolean;
  /** Restarts the board by its control lines; null where there are none. */
  readonly reset: (() => Promise<boolean>) | null;
  close(): Promise<void>;
}

/** For a broker that asks who one is. */
export interface Login {
  readonly user?: string | undefined;
  readonly password?: string | undefined;
}

const broker = /^(mqtt|mqtts|ws|wss):\/\//;

/**
 * Opens a serial port, or a broker by its URL, for the bench; `mapped`: its kit does not speak our wire. What is wrong
 * with it is told by `link.problem()`.
 */
export async function openKitLink(
  place: string,
  baudRate: number,
  login: Login = {},
  mapped: MappedLink | null = null,
): Promise<OpenKitLink> {
  // What stands on a command line can be read by every user of this machine.
  if (broker.test(place) && place.includes('@')) throw new Problem('config.mqtt-secret');
  const clock = machineClock();
  const reader = mapped?.reader ?? new WireReader();
  let state: TransportState = { kind: 'closed' };
  const isBroker = broker.test(place);
  const transport: Transport = isBroker
    ? (await import('../../firmware-bridge/transport/mqtt.ts')).mqttTransport({
        url: place,
        clientId: `limpidbench${process.pid}`,
        clock,
        hearing: reader.counters,
        refusals: reader.refusals,
        foreign: mapped?.topics ?? undefined,
        ...login,
      })
    : (await import('../../firmware-bridge/transport/serial.ts')).serialTransport({
        path: place,
        baudRate,
        clock,
        hearing: reader.counters,
        refusals: reader.refusals,
      });
  const link = new KitLink({
    source: place,
    clock,
    counters: () => reader.counters,
    send: (bytes, kit) => transport.send(bytes, kit),
    // Whoever opens a link for one thing does not wait for it to come back.
    problem: () =>
      'problem' in state ? say({ ...state.problem, params: { ...state.problem.params, once: 1 } }) : null,
  });
  const listener: TransportListener = {
    bytes: (chunk, atS) => {
      for (const decoded of reader.push(chunk, atS)) link.watch.take(decoded, atS);
    },
    message: (topic, payload, atS) => {
      for (const decoded of reader.message(topic, payload, atS)) link.watch.take(decoded, atS);
    },
    state: (next) => {
      if (next.kind === 'open' && state.kind !== 'silent' && state.kind !== 'open') reader.reset();
      state = next;
    },
  };
  await transport.open(listener);
  const reset = async (): Promise<boolean> => {
    const { pulseReset } = await import('../../firmware-bridge/transport/reset-line.ts');
    return pulseReset(place, baudRate);
  };
  return { link, isBroker, reset: isBroker ? null : reset, close: () => transport.close() };
}
