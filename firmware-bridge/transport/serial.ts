import type { Refusals } from '../wire/refusals.ts';
import { type Hearing, Listener } from './hearing.ts';
import { KeptLink, type OpenPlug, type Plug, type PlugEvents, type PlugRefusal } from './kept-link.ts';
import { listPorts, PortMemory, portOwner } from './ports.ts';
import { whyNotOpen } from './serial-faults.ts';
import type { Transport, TransportClock } from './transport.ts';

export interface SerialOptions {
  /** `/dev/ttyUSB0`, `/dev/serial/by-id/...`, `COM3`. */
  readonly path: string;
  readonly baudRate?: number;
  readonly clock: TransportClock;
  /** The counters of the `WireReader` that reads this port; lets a wrong speed be told from a working port. */
  readonly hearing?: Hearing;
  /** What that reader refused; lets it be said why nothing is read. */
  readonly refusals?: Refusals;
}

/** A kit on a serial port, 8N1. Comes back by itself, for ever. */
export function serialTransport(options: SerialOptions): Transport {
  const { path, clock } = options;
  const baudRate = options.baudRate ?? 115200;
  const ear = new Listener(path, baudRate, options.hearing ?? null, options.refusals ?? null);
  return new KeptLink(`serial ${path}`, new SerialPlug(path, baudRate), clock, ear);
}

class SerialPlug implements Plug {
  readonly #memory: PortMemory;
  readonly #baudRate: number;

  constructor(path: string, baudRate: number) {
    this.#memory = new PortMemory(path);
    this.#baudRate = baudRate;
  }

  async open(on: PlugEvents): Promise<OpenPlug | PlugRefusal> {
    const ports = await listPorts();
    const path = this.#memory.path(ports);
    try {
      return await openPort(path, this.#baudRate, on);
    } catch (error) {
      const message = error instanceof Error ? error.message : String(error);
      const others = ports.map((port) => port.byId ?? port.path);
      return whyNotOpen(message, { port: path, others, ...(await portOwner(path)) });
    }
  }
}

/** Open one port. Readers hang on it before it is opened and stay: a port that no one reads does not notice a hang-up. */
async function openPort(path: string, baudRate: number, on: PlugEvents): Promise<OpenPlug> {
  const { SerialPort } = await import('serialport');
  // `hupcl: false` keeps the control lines as they are at close, so that a restart of the bridge does not reset the board.
  const port = new SerialPort({ path, baudRate, autoOpen: false, hupcl: false });
  let gone: (() => void) | null = null;
  const lost = new Promise<false>((resolve) => {
    gone = () => resolve(false);
  });
  // A hang-up can come as an error, as a close, or as two closes; the first one counts.
  const hangUp = (): void => {
    if (gone === null) return;
    gone();
    gone = null;
    on.lost({ code: 'transport-unplugged', params: { port: path } });
  };
  port.on('data', (chunk: Uint8Array) => on.bytes(chunk));
  port.on('error', hangUp);
  port.on('close', hangUp);
  await new Promise<void>((resolve, reject) => port.open((error) => (error ? reject(error) : resolve())));
  return {
    write: (bytes) => {
      const written = new Promise<boolean>((resolve) => port.write(bytes, (error) => resolve(!error)));
      return Promise.race([written, lost]);
    },
    close: () => {
      gone?.();
      gone = null;
      return new Promise((resolve) => {
        if (port.isOpen) port.close(() => resolve());
        else resolve();
      });
    },
  };
}
