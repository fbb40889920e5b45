import { type ChildProcess, spawn, spawnSync } from 'node:child_process';
import { mkdirSync, mkdtempSync, rmSync, writeFileSync } from 'node:fs';
import { tmpdir } from 'node:os';
import { join } from 'node:path';
import { z } from 'zod';
import { until } from '../../contracts/transport-clocks.ts';
import { freePort, kill } from '../mosquitto/broker.ts';

/** A real time-series server of the machine, that can be stopped and started again on its data. */
export interface Series {
  readonly url: string;
  start(): Promise<void>;
  stop(): Promise<void>;
  dispose(): Promise<void>;
  /** How many rows of the samples' measurement it holds, for one rig. */
  rows(rig: string): Promise<number>;
}

const there = (program: string): boolean => spawnSync('which', [program]).status === 0;

/** Is the server there? Where peers are required, its absence is an error. */
export function hasServer(program: string, debian: string): boolean {
  const found = there(program);
  if (!found && process.env['LIMPID_PEERS'] === 'required')
    throw new Error(`LIMPID_PEERS=required, but ${program} is missing: apt-get install ${debian}`);
  return found;
}

/** InfluxDB 1.x. */
export async function influxd(): Promise<Series> {
  const [port, rpc] = [await freePort(), await freePort()];
  const folder = mkdtempSync(join(tmpdir(), 'limpid-influx-'));
  for (const name of ['meta', 'data', 'wal']) mkdirSync(join(folder, name));
  const config = join(folder, 'influxdb.conf');
  const lines = [
    'reporting-disabled = true',
    `bind-address = "127.0.0.1:${rpc}"`,
    '[meta]',
    `dir = "${folder}/meta"`,
    '[data]',
    `dir = "${folder}/data"`,
    `wal-dir = "${folder}/wal"`,
    'index-version = "tsi1"',
    '[monitor]',
    'store-enabled = false',
    '[http]',
    `bind-address = "127.0.0.1:${port}"`,
    'log-enabled = false',
  ];
  writeFileSync(config, `${lines.join('\n')}\n`);
  const url = `http://127.0.0.1:${port}`;
  const answer = z.object({
    results: z.array(z.object({ series: z.array(z.object({ values: z.array(z.array(z.unknown())) })).optional() })),
  });
  return server({
    url,
    folder,
    words: ['influxd', 'run', '-config', config],
    ready: `${url}/ping`,
    async rows(rig) {
      const q = `SELECT count("turbidity_ntu") FROM "limpid" WHERE "rig" = '${rig}'`;
      const reply = await fetch(`${url}/query?db=limpid&q=${encodeURIComponent(q)}`);
      return Number(answer.parse(await reply.json()).results[0]?.series?.[0]?.values[0]?.[1] ?? 0);
    },
  });
}

/** A server that takes the line protocol, and can be one of a cluster. */
export async function victoria(): Promise<Series> {
  const port = await freePort();
  const folder = mkdtempSync(join(tmpdir(), 'limpid-victoria-'));
  const url = `http://127.0.0.1:${port}`;
  const row = z.object({ values: z.array(z.number()) });
  return server({
    url,
    folder,
    words: [
      'victoria-metrics',
      `-storageDataPath=${folder}/data`,
      `-httpListenAddr=127.0.0.1:${port}`,
      '-retentionPeriod=100y',
      '-memory.allowedBytes=256MB',
      '-loggerLevel=WARN',
      // What is written twice is one.
      '-dedup.minScrapeInterval=1ms',
    ],
    ready: `${url}/health`,
    async rows(rig) {
      await fetch(`${url}/internal/force_flush`);
      const match = encodeURIComponent(`limpid_turbidity_ntu{rig="${rig}"}`);
      const text = await (await fetch(`${url}/api/v1/export?match[]=${match}&end=4102444800`)).text();
      const lines = text.split('\n').filter((line) => line !== '');
      return lines.reduce((sum, line) => sum + row.parse(JSON.parse(line)).values.length, 0);
    },
  });
}

interface Program {
  readonly url: string;
  readonly folder: string;
  readonly words: readonly string[];
  readonly ready: string;
  rows(rig: string): Promise<number>;
}

async function server(run: Program): Promise<Series> {
  const { url, folder, words, ready } = run;
  let child: ChildProcess | null = null;
  const series: Series = {
    url,
    rows: (rig) => run.rows(rig),
    async start() {
      const [program = '', ...rest] = words;
      child = spawn(program, rest, { stdio: 'ignore' });
      let isUp = false;
      const ask = async (): Promise<void> => {
        while (!isUp && child) {
          isUp = await fetch(ready).then(
            (reply) => reply.ok,
            () => false,
          );
          if (!isUp) await new Promise((resolve) => setTimeout(resolve, 50));
        }
      };
      void ask();
      await until(`${program} is up`, () => isUp, 25);
    },
    async stop() {
      const running = child;
      child = null;
      await kill(running);
    },
    async dispose() {
      await series.stop();
      rmSync(folder, { recursive: true, force: true });
    },
  };
  await series.start();
  return series;
}
