// npx tsx bench/ingest.ts: lines of the wire through the whole chain (reader, clock, analysis, store, live stream), at
// 10,000 lines a second and as fast as they go. One JSON line; ratios hold within one run on one machine.
import { mkdtempSync, rmSync } from 'node:fs';
import { cpus, loadavg, tmpdir } from 'node:os';
import { join } from 'node:path';
import { encodeLine } from '../firmware-bridge/wire/encode.ts';
import { startSimulatedRig } from '../simulators/simulate.ts';
import { createAnalysis } from '../src/core/analyse.ts';
import { machineClock } from '../src/run/clock.ts';
import { Run } from '../src/run/run.ts';
import { openStore } from '../src/store/open.ts';

const seconds = Number(process.argv[2] ?? 10);
const perSecond = 10_000;
const lineCount = seconds * perSecond;

function makeLines(): Uint8Array[] {
  return Array.from({ length: lineCount }, (_, i) =>
    encodeLine({
      kit: 'urn:dev:mac:0200000000beac01',
      boot: 1,
      seq: i,
      upS: Math.round((1 + i / perSecond) * 1e6) / 1e6,
      values: {
        turbidityNtu: 20 + (i % 7) * 0.25,
        flowLpm: 14 + (i % 5) * 0.1,
        pressureBar: 1.05,
        returnC: 38,
        conductivityUsCm: 640,
      },
    }),
  );
}

function setUp() {
  const folder = mkdtempSync(join(tmpdir(), 'limpid-bench-'));
  const store = openStore(folder);
  const clock = machineClock();
  const { context } = startSimulatedRig({ scenario: 'rehearsal', seed: 1, clock });
  const head = { runId: 'r', title: 'bench', simulated: true, startedAt: '2026-01-02T03:04:05Z', context };
  const runStore = store.createRun(head);
  const fault = (error: unknown): never => {
    throw error;
  };
  const run = new Run({ store: runStore, clock, createAnalysis, source: 'bench', fault });
  let bytesOut = 0;
  let rowsOut = 0;
  run.listen((message) => {
    bytesOut += JSON.stringify(message).length;
    if (message.type === 'trace') rowsOut += message.rows.length;
  });
  const post = (id: string, event: string, emitter = '') =>
    run.post({ id, event, emitter, note: '', agoS: 0 }, 'loopback');
  return {
    run,
    clock,
    post,
    end: () => {
      run.stop();
      const kept = [...runStore.samples()].length;
      const lost = { kept: lineCount - kept, sent: lineCount - rowsOut, behind: run.view().counters };
      store.close();
      rmSync(folder, { recursive: true, force: true });
      return { lost, bytesOut };
    },
  };
}

/** Lines are handed over every 10 ms, as a driver would. */
async function paced(lines: readonly Uint8Array[]) {
  const bridge = setUp();
  await bridge.post('bench-1', 'stage:emitters');
  await bridge.post('bench-2', 'emitter-open', 'hall');
  const startS = performance.now() / 1000;
  const cpu = process.cpuUsage();
  let next = 0;
  while (next < lines.length) {
    const due = Math.min(lines.length, Math.floor((performance.now() / 1000 - startS) * perSecond));
    for (; next < due; next++) {
      const line = lines[next];
      if (line) bridge.run.bytes(line, bridge.clock.nowS());
    }
    await new Promise((done) => setTimeout(done, 10));
  }
  const wallS = performance.now() / 1000 - startS;
  const { user, system } = process.cpuUsage(cpu);
  return { linesPerS: Math.round(lines.length / wallS), cpuShare: (user + system) / 1e6 / wallS, ...bridge.end() };
}

async function atOnce(lines: readonly Uint8Array[]) {
  const bridge = setUp();
  await bridge.post('bench-1', 'stage:emitters');
  await bridge.post('bench-2', 'emitter-open', 'hall');
  const startMs = performance.now();
  for (const [i, line] of lines.entries()) {
    bridge.run.bytes(line, bridge.clock.nowS());
    if (i % 1000 === 999) await new Promise((done) => setImmediate(done));
  }
  const wallS = (performance.now() - startMs) / 1000;
  return { linesPerS: Math.round(lines.length / wallS), ...bridge.end() };
}

/** The least that any bridge must do with a line: parse its JSON. The measure of this machine. */
function jsonOnly(lines: readonly Uint8Array[]): number {
  const text = lines.map((line) => new TextDecoder().decode(line.subarray(0, line.lastIndexOf(42))));
  const startMs = performance.now();
  let sum = 0;
  for (const line of text) sum += JSON.stringify(JSON.parse(line)).length;
  return sum > 0 ? Math.round(text.length / ((performance.now() - startMs) / 1000)) : 0;
}

const lines = makeLines();
const json = jsonOnly(lines);
const pace = await paced(lines);
const burst = await atOnce(lines);
console.log(
  JSON.stringify({
    bench: 'ingest',
    lines: lineCount,
    paced: pace,
    atOnce: burst,
    jsonRoundTripsPerS: json,
    ratioAtOnceToJson: burst.linesPerS / json,
    rssMb: Math.round(process.memoryUsage.rss() / 1e6),
    machine: { cpu: cpus()[0]?.model, cores: cpus().length, load: loadavg() },
  }),
);
