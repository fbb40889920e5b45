import { mkdtemp, rm } from 'node:fs/promises';
import { tmpdir } from 'node:os';
import { join } from 'node:path';
import { SerialPort } from 'serialport';
import { describe } from 'vitest';
import { serialTransport } from '../../../firmware-bridge/transport/serial.ts';
import { hasPty, ptyPair } from '../../../simulators/kit/pty.ts';
import { realClock } from '../../contracts/transport-clocks.ts';
import { transportContract } from '../../contracts/transport.contract.ts';

describe.skipIf(!hasPty())('over a pseudo-terminal (socat)', () => {
  transportContract('serial', async () => {
    const folder = await mkdtemp(join(tmpdir(), 'limpid-pty-'));
    const pair = await ptyPair(join(folder, 'kit'), join(folder, 'bridge'));
    const kit = new SerialPort({ path: pair.kitPath, baudRate: 115200 });
    const got: Uint8Array[] = [];
    kit.on('data', (chunk: Uint8Array) => got.push(chunk.slice()));
    await new Promise((resolve) => kit.once('open', resolve));
    return {
      transport: serialTransport({ path: pair.bridgePath, clock: realClock }),
      send: async (chunks) => {
        for (const chunk of chunks) kit.write(chunk);
        await new Promise((resolve) => kit.drain(resolve));
      },
      received: () => Buffer.concat(got),
      dispose: async () => {
        if (kit.isOpen) await new Promise<void>((resolve) => kit.close(() => resolve()));
        await pair.unplug();
        await rm(folder, { recursive: true, force: true });
      },
    };
  });
});
