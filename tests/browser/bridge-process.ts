import { type ChildProcess, spawn } from 'node:child_process';
import { once } from 'node:events';
import { createInterface } from 'node:readline';
import { z } from 'zod';

/** The bridge as a process of its own, with the simulated rig: it can be killed as a power cut would. */
export interface BridgeProcess {
  readonly url: string;
  readonly lan: readonly string[];
  readonly port: number;
  readonly code: string;
  readonly pid: number;
  stop(signal: 'SIGKILL' | 'SIGINT'): Promise<void>;
}

const startedSchema = z.object({ url: z.string(), lan: z.array(z.string()), port: z.number(), code: z.string() });

async function freePort(): Promise<number> {
  const { createServer } = await import('node:net');
  const server = createServer().listen(0);
  await once(server, 'listening');
  const address = server.address();
  server.close();
  return typeof address === 'object' && address !== null ? address.port : 0;
}

export async function startBridgeProcess(options: {
  readonly data: string;
  readonly speed: number;
  readonly port?: number;
  /** The built command line, where it is started again and again; otherwise it runs from its sources. */
  readonly program?: string;
  /** Beside this process's own. */
  readonly env?: Readonly<Record<string, string>>;
}): Promise<BridgeProcess> {
  const port = options.port ?? (await freePort());
  const program = options.program === undefined ? ['--import', 'tsx', 'src/cli/limpid.ts'] : [options.program];
  const words = ['start', '--simulate', 'rehearsal', '--json', '--data', options.data];
  const child: ChildProcess = spawn(
    process.execPath,
    [...program, ...words, '--speed', String(options.speed), '--port', String(port)],
    { stdio: ['ignore', 'pipe', 'pipe'], env: { ...process.env, ...options.env } },
  );
  let complaints = '';
  child.stderr?.on('data', (chunk: Buffer) => {
    complaints += chunk.toString();
  });
  const exited = once(child, 'exit');
  const line = await new Promise<string>((resolve, reject) => {
    if (child.stdout) createInterface(child.stdout).once('line', resolve);
    exited.then(() => reject(new Error(`the bridge stopped: ${complaints}`)), reject);
  });
  return {
    ...startedSchema.parse(JSON.parse(line)),
    pid: child.pid ?? 0,
    async stop(signal) {
      child.kill(signal);
      await exited;
    },
  };
}
