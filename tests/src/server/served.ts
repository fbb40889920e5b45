import { mkdtempSync, rmSync } from 'node:fs';
import { networkInterfaces, tmpdir } from 'node:os';
import { join } from 'node:path';
import { type RunningServer, type ServerOptions, startServer } from '../../../src/server/app.ts';
import { createFakeBridge, type FakeBridge } from './fake-bridge.ts';

/** Of this machine on its network, where it is in one. */
export const lanAddress = Object.values(networkInterfaces())
  .flatMap((found) => found ?? [])
  .find((a) => a.family === 'IPv4' && !a.internal)?.address;

export interface Served {
  readonly server: RunningServer;
  readonly bridge: FakeBridge;
  readonly folder: string;
  readonly logged: readonly string[];
  close(): Promise<void>;
}

/** The real server before a fake bridge with five seconds of readings, in a folder of its own. */
export async function serve(options: Partial<ServerOptions> = {}): Promise<Served> {
  const folder = mkdtempSync(join(tmpdir(), 'limpid-served-'));
  const bridge = createFakeBridge();
  bridge.play(5);
  const logged: string[] = [];
  const server = await startServer({
    host: '127.0.0.1',
    port: 0,
    bridge,
    webRoot: join(folder, 'web'),
    pairing: { code: '135790' },
    dataFolder: folder,
    log: (line) => logged.push(line),
    ...options,
  });
  return {
    server,
    bridge,
    folder,
    logged,
    async close() {
      await server.close();
      rmSync(folder, { recursive: true, force: true });
    },
  };
}
