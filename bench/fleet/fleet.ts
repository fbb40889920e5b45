// npx tsx bench/fleet/fleet.ts [--rigs 1000] [--minutes 10] [--series influxd|victoria]: a firm's rigs against a real
// broker, real hubs and a real time-series server of this machine, counted end to end; the broker's and the server's own
// limits in the same run as the yardstick. One JSON line at the end.
import { type ChildProcess, spawn } from 'node:child_process';
import { mkdtempSync, readFileSync, rmSync } from 'node:fs';
import { cpus, loadavg, tmpdir } from 'node:os';
import { join } from 'node:path';
import { createInterface } from 'node:readline';
import { parseArgs } from 'node:util';
import { InfluxDB } from 'influx';
import { z } from 'zod';
import { measurement } from '../../src/hub/timeseries.ts';
import { client, freePort, mosquitto } from '../../tests/peers/mosquitto/broker.ts';
import { influxd, type Series, victoria } from '../../tests/peers/firm/series.ts';

const { values: args } = parseArgs({
  options: {
    rigs: { type: 'string', default: '1000' },
    minutes: { type: 'string', default: '10' },
    hubs: { type: 'string', default: '1' },
    series: { type: 'string', default: 'influxd' },
  },
});
const [rigs, minutes, hubs] = [Number(args.rigs), Number(args.minutes), Number(args.hubs)];
const rows = rigs * minutes * 600;
const say = (line: string): void => void process.stderr.write(`${line}\n`);
const ends: (() => unknown)[] = [];

/** CPU seconds of a process so far, and its resident memory. */
function usage(pid: number): { cpuS: number; rssMB: number } {
  const stat = readFileSync(`/proc/${pid}/stat`, 'utf8').split(') ')[1]?.split(' ') ?? [];
  return { cpuS: (Number(stat[11]) + Number(stat[12])) / 100, rssMB: (Number(stat[21]) * 4096) / 1e6 };
}

/** Messages of a chunk's size that the broker alone passes on, and rows that the server alone takes. */
async function limits(url: string, series: Series): Promise<{ brokerMessages: number; seriesRows: number }> {
  const payload = Buffer.alloc(14_000, 7);
  const [from, to] = [await client(url, { protocolVersion: 5 }), await client(url, { protocolVersion: 5 })];
  let got = 0;
  to.on('message', () => {
    got += 1;
  });
  await to.subscribeAsync('limit/#', { qos: 1 });
  const count = 4000;
  const t0 = performance.now();
  await Promise.all(Array.from({ length: count }, () => from.publishAsync('limit/x', payload, { qos: 1 })));
  while (got < count) await new Promise((resolve) => setTimeout(resolve, 2));
  const brokerMessages = count / ((performance.now() - t0) / 1000);
  await Promise.all([from.endAsync(true), to.endAsync(true)]);

  const { hostname, port } = new URL(series.url);
  const influx = new InfluxDB({ host: hostname, port: Number(port), database: 'limits' });
  await influx.createDatabase('limits').catch(() => undefined);
  const batch = 10_000;
  const t1 = performance.now();
  const batches = 10;
  for (let b = 0; b < batches; b++)
    await influx.writePoints(
      Array.from({ length: batch }, (_, i) => ({
        measurement,
        tags: { rig: `limit-${i % 16}`, run: 'limit' },
        fields: {
          turbidity_ntu: i % 97,
          flow_lpm: 9.1,
          pressure_bar: 1.01,
          supply_c: 52,
          return_c: 44,
          conductivity_us_cm: 650,
        },
        timestamp: 1_767_000_000_000 + (b * batch + i) * 100,
      })),
      { precision: 'ms' },
    );
  return { brokerMessages, seriesRows: (batch * batches) / ((performance.now() - t1) / 1000) };
}

const tick = z.object({ atS: z.number(), made: z.number(), waiting: z.number(), cpuS: z.number(), rss: z.number() });

async function measure(): Promise<void> {
  const series = await (args.series === 'victoria' ? victoria() : influxd());
  ends.push(() => series.dispose());
  const broker = await mosquitto();
  ends.push(() => broker.dispose());
  const limit = await limits(broker.url, series);
  say(`alone: broker ${limit.brokerMessages.toFixed(0)} messages/s, series ${limit.seriesRows.toFixed(0)} rows/s`);

  const data = mkdtempSync(join(tmpdir(), 'limpid-fleet-'));
  ends.push(() => rmSync(data, { recursive: true, force: true }));
  const ports = await Promise.all(Array.from({ length: hubs }, () => freePort()));
  const running = ports.map((port, i) =>
    start('node', [
      'dist/limpid.js',
      'hub',
      '--broker',
      broker.url,
      '--series',
      series.url,
      '--data',
      data,
      '--name',
      `h${i}`,
      '--port',
      String(port),
    ]),
  );
  const measures = async (): Promise<Map<string, number>> => {
    const sum = new Map<string, number>();
    for (const port of ports) {
      const text = await (await fetch(`http://127.0.0.1:${port}/metrics`)).text();
      for (const [, name = '', value = ''] of text.matchAll(/^(\w+) ([\d.e+-]+)$/gm))
        sum.set(name, (sum.get(name) ?? 0) + Number(value));
    }
    return sum;
  };
  for (let i = 0; i < 100; i++) {
    const joined = await measures().then(
      (m) => m.get('limpid_hub_joined') ?? 0,
      () => 0,
    );
    if (joined === hubs) break;
    await new Promise((resolve) => setTimeout(resolve, 100));
  }
  const fleet = start('npx', [
    'tsx',
    'bench/fleet/rigs.ts',
    '--url',
    broker.url,
    '--rigs',
    String(rigs),
    '--minutes',
    String(minutes),
  ]);
  const hubUse: { atS: number; cpuS: number; rssMB: number }[] = [];
  let last = { atS: 0, made: 0, waiting: 0, cpuS: 0, rss: 0 };
  let most = 0;
  for await (const line of createInterface({ input: fleet.stdout ?? process.stdin })) {
    last = tick.parse(JSON.parse(line));
    most = Math.max(most, last.waiting);
    const use = running.map((child) => usage(child.pid ?? 0));
    hubUse.push({
      atS: last.atS,
      cpuS: use.reduce((sum, u) => sum + u.cpuS, 0),
      rssMB: use.reduce((sum, u) => sum + u.rssMB, 0),
    });
    if (hubUse.length % 15 === 0) say(JSON.stringify({ ...last, hub: hubUse.at(-1) }));
  }
  // Acknowledged by the server; it may not be surely on its disk yet, which the hub waits for by itself.
  let m = await measures();
  for (let i = 0; i < 600 && (m.get('limpid_hub_unwritten_chunks') ?? 0) > 0; i++) {
    await new Promise((resolve) => setTimeout(resolve, 100));
    m = await measures();
  }
  let found = 0;
  for (let rig = 0; rig < rigs; rig++) found += await series.rows(`rig-${rig}`);
  const at = (share: number) => hubUse[Math.min(hubUse.length - 1, Math.floor(hubUse.length * share))];
  const hubS = at(1)?.cpuS ?? 0;
  const elapsedS = last.atS;
  const result = {
    rigs,
    minutes,
    hubs,
    series: args.series,
    rows,
    found,
    lost: rows - found,
    elapsedS: round(elapsedS),
    mostWaitingLinks: most,
    rowsPerS: round(rows / elapsedS),
    shareOfBroker: round((rigs * minutes * 2) / elapsedS / limit.brokerMessages, 4),
    shareOfSeries: round(rows / elapsedS / limit.seriesRows, 4),
    hubCores: round(hubS / elapsedS, 3),
    hubMicrosecondsPerRow: round((hubS / rows) * 1e6, 2),
    hubRssMB: [at(0.2), at(0.6), at(1)].map((u) => round(u?.rssMB ?? 0, 0)),
    rigsCores: round(last.cpuS / elapsedS, 3),
    alone: { brokerMessagesPerS: round(limit.brokerMessages, 0), seriesRowsPerS: round(limit.seriesRows, 0) },
    counts: Object.fromEntries(m),
    machine: `${cpus().length} cores, load ${loadavg()[0]?.toFixed(1)}`,
  };
  process.stdout.write(`${JSON.stringify(result)}\n`);
  if (found !== rows) process.exitCode = 1;
}

const round = (value: number, decimals = 1): number => Math.round(value * 10 ** decimals) / 10 ** decimals;

function start(program: string, words: readonly string[]): ChildProcess {
  const child = spawn(program, words, { stdio: ['ignore', 'pipe', 'inherit'] });
  ends.push(() => child.kill('SIGKILL'));
  return child;
}

try {
  await measure();
} finally {
  for (const end of ends.splice(0).reverse()) await end();
}
process.exit();
