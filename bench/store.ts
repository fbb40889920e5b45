/**
 * Cost of keeping a run, as JSON on stdout: samples and events through the store beside the bare SQLite statement that
 * they end in, reading back, opening, and an eight-hour recording read from its folder. Times depend on the disk and on
 * what else the machine does; the ratios, taken in the same run, depend on them less.
 * Run: npx tsx bench/store.ts
 */
import { mkdirSync, mkdtempSync, readFileSync, rmSync, statSync } from 'node:fs';
import { createHash } from 'node:crypto';
import os from 'node:os';
import { join } from 'node:path';
import { DatabaseSync } from '@photostructure/sqlite';
import { channels } from '../src/core/quantity/channels.ts';
import { emptySample, roundToChannel, type Sample } from '../src/core/quantity/sample.ts';
import { exportRun, readRecording } from '../src/recording/recording.ts';
import { encodeChunk } from '../src/store/chunk.ts';
import { openStore } from '../src/store/open.ts';
import type { RunHead } from '../src/store/store.ts';

const root = mkdtempSync(join(process.argv[2] ?? os.tmpdir(), 'limpid-bench-'));
const round = (x: number, digits = 3): number => Number(x.toFixed(digits));

function sampleAt(timeS: number, i: number): Sample {
  const sample = emptySample(timeS);
  for (const [k, c] of channels.entries())
    sample[c.key] = roundToChannel(5 + 4 * Math.sin(i * 0.01 + k) + ((i * 7919) % 101) / 1000, c.decimals);
  return sample;
}

const head = (runId: string): RunHead => ({
  runId,
  title: 'bench',
  simulated: true,
  startedAt: '2026-01-01T00:00:00.000Z',
  context: {
    emitters: [{ id: 'a', name: 'A', volume_l: 5 }],
    loop_volume_l: 80,
    return_volume_l: 9,
    mains: { turbidity_ntu: 0.3, conductivity_us_cm: 310 },
    sample_hz: 10,
  },
});

interface Cost {
  readonly wallMs: number[];
  readonly cpuS: number;
}

function measure(times: number, work: (i: number) => void): Cost {
  const wallMs: number[] = [];
  const before = process.cpuUsage();
  for (let i = 0; i < times; i++) {
    const from = performance.now();
    work(i);
    wallMs.push(performance.now() - from);
  }
  const { user, system } = process.cpuUsage(before);
  return { wallMs, cpuS: (user + system) / 1e6 };
}

function spread({ wallMs }: Cost): { p50: number; p99: number; max: number } {
  const sorted = wallMs.toSorted((a, b) => a - b);
  const at = (q: number): number => round(sorted[Math.min(sorted.length - 1, Math.floor(q * sorted.length))] ?? 0);
  return { p50: at(0.5), p99: at(0.99), max: at(1) };
}
const total = ({ wallMs }: Cost): number => wallMs.reduce((a, b) => a + b, 0) / 1000;

/** A table and nothing else: what the same bytes cost without us. */
function bare(
  name: string,
  synchronous: 'NORMAL' | 'FULL',
): { insert(body: Uint8Array | string): void; close(): void } {
  const db = new DatabaseSync(join(root, name));
  db.exec(`PRAGMA locking_mode = EXCLUSIVE; PRAGMA journal_mode = WAL; PRAGMA synchronous = ${synchronous};
    CREATE TABLE t (body)`);
  const insert = db.prepare('INSERT INTO t VALUES (?)');
  return { insert: (body) => void insert.run(body), close: () => db.close() };
}

/** `seconds` of data at `hz`, committed ten times a second of data, as fast as the machine can. */
function samplesAt(hz: number, seconds: number) {
  const batch = hz / 10;
  const flushes = seconds * 10;
  const store = openStore(join(root, `samples-${hz}`));
  const run = store.createRun(head('r'));
  const batches = Array.from({ length: flushes }, (_, f) =>
    Array.from({ length: batch }, (_, i) => sampleAt(round((f * batch + i) / hz, 5), f * batch + i)),
  );
  const ours = measure(flushes, (f) => {
    for (const sample of batches[f] ?? []) run.appendSample(sample);
    run.flush();
  });
  store.close();
  const floor = bare(`bare-${hz}.sqlite`, 'NORMAL');
  const bodies = batches.map(encodeChunk);
  const theirs = measure(flushes, (f) => floor.insert(bodies[f] ?? ''));
  floor.close();
  return {
    samplesPerS: Math.round((batch * flushes) / total(ours)),
    shareOfACore: round(ours.cpuS / seconds, 4),
    flushMs: spread(ours),
    bareInsertMs: spread(theirs),
    timesBareInsert: round(total(ours) / total(theirs), 2),
  };
}

function events(count: number) {
  const store = openStore(join(root, 'events'));
  const run = store.createRun(head('r'));
  const ours = measure(count, (i) => {
    const event = { timeS: i, event: 'agitate-end', emitter: 'a', note: '' };
    run.appendEvent({ id: `e${i}`, event, who: 'loopback', wallAt: '2026-01-01T00:00:00.000Z' });
  });
  const text = JSON.stringify(run.events()[0]);
  store.close();
  const floor = bare('bare-events.sqlite', 'FULL');
  const theirs = measure(count, () => floor.insert(text));
  floor.close();
  return {
    appendMs: spread(ours),
    bareInsertMs: spread(theirs),
    timesBareInsert: round(total(ours) / total(theirs), 2),
  };
}

function eightHours() {
  const rows = 8 * 3600 * 10;
  const data = join(root, 'eight-hours');
  const folder = join(root, 'recording');
  mkdirSync(data);
  const store = openStore(data);
  const run = store.createRun(head('r'));
  for (let i = 0; i < rows; i++) {
    run.appendSample(sampleAt(i / 10, i));
    if (i % 600 === 599) run.flush();
  }
  const written = measure(1, () => exportRun(run, folder));
  let sum = 0;
  const readBack = measure(3, () => {
    for (const sample of run.samples()) sum += sample.flowLpm ?? 0;
  });
  store.close();
  const opened = measure(3, () => openStore(data).close());
  const csv = join(folder, 'recording.csv');
  const floor = measure(3, () => {
    const bytes = readFileSync(csv);
    createHash('sha256').update(bytes).digest();
    sum += new TextDecoder('utf-8', { fatal: true }).decode(bytes).length;
  });
  const read = measure(3, () => {
    sum += readRecording(folder).samples.length;
  });
  return {
    rows,
    storeMB: round(statSync(join(data, 'limpid.sqlite')).size / 1e6, 1),
    csvMB: round(statSync(csv).size / 1e6, 1),
    openAndCheckMs: spread(opened).p50,
    readStoreMs: spread(readBack).p50,
    exportMs: spread(written).p50,
    readRecordingMs: spread(read).p50,
    readRecordingCpuMs: Math.round((read.cpuS / 3) * 1000),
    timesReadAndHashAlone: round(total(read) / total(floor), 1),
    maxRssMB: Math.round(process.resourceUsage().maxRSS / 1024),
    checked: sum > 0,
  };
}

try {
  const result = {
    machine: {
      cpu: os.cpus()[0]?.model,
      cores: os.cpus().length,
      node: process.version,
      load: os.loadavg().map((l) => round(l, 1)),
    },
    at10Hz: samplesAt(10, 120),
    at10000Hz: samplesAt(10000, 20),
    events: events(500),
    eightHoursAt10Hz: eightHours(),
  };
  console.log(JSON.stringify(result, null, 2));
} finally {
  rmSync(root, { recursive: true, force: true });
}
