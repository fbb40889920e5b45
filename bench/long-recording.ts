/**
 * A recording of eight hours at 10 Hz, time and all seven channels, through the built `limpid analyse`: seconds and the most
 * memory held, as sentences and as JSON (which brings the audit's findings), beside a bare Node program that only reads the same file and splits its lines.
 *
 *   npm run build && npx tsx bench/long-recording.ts
 */
import { spawnSync } from 'node:child_process';
import { existsSync, mkdtempSync, rmSync, statSync } from 'node:fs';
import os from 'node:os';
import { join } from 'node:path';
import type { RunEvent } from '../src/core/job/event.ts';
import type { Sample } from '../src/core/quantity/sample.ts';
import { writeRecording } from '../src/recording/recording.ts';
import { Random } from '../simulators/random.ts';

const built = 'dist/limpid.js';
if (!existsSync(built)) {
  console.error(`${built} is not there: run \`npm run build\` first.`);
  process.exit(2);
}

const hours = 8;
const rateHz = 10;
const visitS = 900;
const passEveryS = 200;
const emitters = Array.from({ length: (hours * 3600) / visitS }, (_, i) => ({
  id: `e${i}`,
  name: `Emitter ${i}`,
  volume_l: 6,
}));

const events: RunEvent[] = [{ timeS: 1, event: 'stage:emitters', emitter: '', note: '' }];
emitters.forEach(({ id: emitter }, v) => {
  const fromS = v * visitS + 20;
  events.push({ timeS: fromS, event: 'emitter-open', emitter, note: '' });
  for (let s = 60; s < visitS - 100; s += passEveryS)
    events.push({ timeS: fromS + s, event: 'agitate-end', emitter, note: '' });
  events.push({ timeS: fromS + visitS - 30, event: 'emitter-shut', emitter, note: '' });
});

const random = new Random('long-recording');
/** As a kit sends it: no more digits than its sensor has. */
const measured = (level: number, sd: number, digits: number) => Number((level + sd * random.normal()).toFixed(digits));
const samples: Sample[] = [];
for (let i = 1; i <= hours * 3600 * rateHz; i += 1) {
  const timeS = i / rateHz;
  const sincePassS = ((timeS % visitS) + passEveryS) % passEveryS;
  const pulse = 300 * (sincePassS / 8) * Math.exp(-sincePassS / 15);
  samples.push({
    timeS,
    turbidityNtu: measured(20 + pulse, 0.5 + 0.01 * pulse, 2),
    turbidityOutNtu: measured(5 + 0.2 * pulse, 0.3, 2),
    flowLpm: measured(9, 0.1, 2),
    pressureBar: measured(1.1, 0.01, 3),
    supplyC: measured(44, 0.1, 2),
    returnC: measured(40, 0.1, 2),
    conductivityUsCm: measured(1800, 5, 0),
  });
}

const folder = mkdtempSync(join(os.tmpdir(), 'limpid-long-'));
const context = {
  emitters,
  loop_volume_l: 90,
  return_volume_l: 4,
  mains: { turbidity_ntu: 0.5, conductivity_us_cm: 350 },
  sample_hz: rateHz,
};
writeRecording(folder, { context, samples, events });

/** Most memory, kB, written last to standard error by the child itself. */
const report = 'data:text/javascript,process.on("exit",()=>process.stderr.write("\\n"+process.resourceUsage().maxRSS))';

function run(args: readonly string[]): { readonly seconds: number; readonly mb: number } {
  const from = performance.now();
  const child = spawnSync(process.execPath, ['--import', report, ...args], { encoding: 'utf8', maxBuffer: 1e9 });
  const seconds = (performance.now() - from) / 1000;
  if (child.status !== 0) throw new Error(`${args.join(' ')} ended with ${child.status}: ${child.stderr}`);
  return { seconds, mb: Number(child.stderr.trim().split('\n').at(-1)) / 1024 };
}

const recording = join(folder, 'recording.csv');
const bareProgram = `let n=0;for(const l of require('fs').readFileSync(${JSON.stringify(recording)},'utf8').split('\\n'))n+=l.split(',').length;console.log(n)`;
try {
  const bare = run(['-e', bareProgram]);
  const words = run([built, 'analyse', folder]);
  const json = run([built, 'analyse', folder, '--json']);
  const mb = statSync(recording).size / 2 ** 20;
  console.log(`${samples.length} rows, ${mb.toFixed(0)} MB, load ${os.loadavg()[0]?.toFixed(1)}`);
  console.log(`bare reading: ${bare.seconds.toFixed(2)} s, ${bare.mb.toFixed(0)} MB`);
  for (const [name, { seconds, mb: held }] of Object.entries({ words, json }))
    console.log(
      `limpid analyse, ${name}: ${seconds.toFixed(2)} s (bar 3), ${held.toFixed(0)} MB (bar 300), ${(seconds / bare.seconds).toFixed(1)} times the bare reading`,
    );
} finally {
  rmSync(folder, { recursive: true });
}
