import { type ChildProcess, spawn, spawnSync } from 'node:child_process';
import { mkdtemp, rm, writeFile } from 'node:fs/promises';
import { createServer } from 'node:net';
import { tmpdir } from 'node:os';
import { join } from 'node:path';
import { connect, type IClientOptions, type MqttClient } from 'mqtt';
import { until } from '../../contracts/transport-clocks.ts';

/** Debian keeps the broker where only root's path looks. */
const program = ['mosquitto', '/usr/sbin/mosquitto'].find((name) => spawnSync(name, ['-h']).error === undefined);

/** Is the broker there? Where peers are required, its absence is an error. */
export function hasMosquitto(): boolean {
  if (program === undefined && process.env['LIMPID_PEERS'] === 'required')
    throw new Error('LIMPID_PEERS=required, but mosquitto is missing: apt-get install mosquitto');
  return program !== undefined;
}

export interface Mosquitto {
  readonly port: number;
  readonly url: string;
  readonly folder: string;
  /** Ends it as a restart of the machine would; what it holds is on its disk. */
  stop(): Promise<void>;
  /** Ends it as a power cut would: sessions and messages since it last wrote them down are gone. */
  kill(): Promise<void>;
  start(): Promise<void>;
  /** Reads logins, rights and certificates anew, its connections as they are. */
  reload(): void;
  dispose(): Promise<void>;
}

/** A broker of its own on a free port of this machine, with persistence on and no limit to its queue. */
export async function mosquitto(more: readonly string[] = ['allow_anonymous true']): Promise<Mosquitto> {
  const port = await freePort();
  const folder = await mkdtemp(join(tmpdir(), 'limpid-broker-'));
  const config = join(folder, 'broker.conf');
  const lines = [
    `listener ${port} 127.0.0.1`,
    // As root it would give its rights up, and with them this folder.
    'user root',
    'persistence true',
    `persistence_location ${folder}/`,
    'max_queued_messages 0',
    ...more,
  ];
  await writeFile(config, `${lines.join('\n')}\n`, { mode: 0o644 });
  let child: ChildProcess | null = null;
  const broker: Mosquitto = {
    port,
    url: `mqtt://127.0.0.1:${port}`,
    folder,
    async start() {
      const started = spawn(program ?? 'mosquitto', ['-c', config], { stdio: ['ignore', 'ignore', 'pipe'] });
      child = started;
      let said = '';
      started.stderr.on('data', (chunk: Buffer) => {
        said += chunk.toString();
      });
      await until(`the broker runs (${said})`, () => {
        if (started.exitCode !== null) throw new Error(`mosquitto ended: ${said}`);
        return said.includes('running');
      });
    },
    async stop() {
      const running = child;
      child = null;
      if (running === null || running.exitCode !== null) return;
      const ended = new Promise((resolve) => running.once('exit', resolve));
      // A signal that comes in the moment of its start is lost on it.
      const again = setInterval(() => running.kill('SIGTERM'), 500);
      running.kill('SIGTERM');
      await ended;
      clearInterval(again);
    },
    async kill() {
      const running = child;
      child = null;
      await kill(running);
    },
    reload: () => void child?.kill('SIGHUP'),
    async dispose() {
      await broker.stop();
      await rm(folder, { recursive: true, force: true });
    },
  };
  await broker.start();
  return broker;
}

/** SIGKILL; it is gone when this resolves. */
export async function kill(child: ChildProcess | null): Promise<void> {
  if (child === null || child.exitCode !== null) return;
  const ended = new Promise((resolve) => child.once('exit', resolve));
  child.kill('SIGKILL');
  await ended;
}

export async function freePort(): Promise<number> {
  return await new Promise((resolve, reject) => {
    const server = createServer();
    server.once('error', reject);
    server.listen(0, '127.0.0.1', () => {
      const address = server.address();
      server.close(() => resolve(typeof address === 'object' && address !== null ? address.port : 0));
    });
  });
}

/** A client as a kit has one; it is connected when this resolves. */
export async function client(url: string, options: IClientOptions = {}): Promise<MqttClient> {
  const made = connect(url, { reconnectPeriod: 50, ...options });
  made.on('error', () => undefined);
  await new Promise<void>((resolve) => made.once('connect', () => resolve()));
  return made;
}
