import { mkdtemp, rm } from 'node:fs/promises';
import { tmpdir } from 'node:os';
import { join } from 'node:path';
import { SerialPort } from 'serialport';
import type { PipePeer } from '../../../firmware-bridge/transport/pipe-peer.ts';
import { ptyPair } from '../../../simulators/kit/pty.ts';

export interface KitOnPty {
  /** The bridge's end. */
  readonly port: string;
  /** Bytes into the line besides those of the kit. */
  write(bytes: Uint8Array): void;
  stop(): Promise<void>;
}

/** A kit at the far end of a pseudo-terminal, as over a cable. */
export async function kitOnPty(peer: PipePeer): Promise<KitOnPty> {
  const folder = await mkdtemp(join(tmpdir(), 'limpid-kit-'));
  const pair = await ptyPair(join(folder, 'kit'), join(folder, 'bridge'));
  const line = new SerialPort({ path: pair.kitPath, baudRate: 115200 });
  line.on('data', (chunk: Uint8Array) => peer.fromBridge(chunk));
  line.on('error', () => undefined);
  await new Promise((resolve) => line.once('open', resolve));
  peer.start((bytes) => {
    if (line.isOpen) line.write(bytes);
  });
  return {
    port: pair.bridgePath,
    write: (bytes) => void line.write(bytes),
    stop: async () => {
      peer.stop();
      if (line.isOpen) await new Promise<void>((resolve) => line.close(() => resolve()));
      await pair.unplug();
      await rm(folder, { recursive: true, force: true });
    },
  };
}
