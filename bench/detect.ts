/**
 * Speed of the whole chain from sample to verdict, as JSON on stdout: an 8-hour run at 10 Hz, 8 channels.
 * Run: npx tsx bench/detect.ts
 */
import os from 'node:os';
import { analyseRecording } from '../src/core/analyse-recording.ts';
import { makeRun } from '../tests/src/core/line/made-run.ts';

const hours = 8;
const endS = hours * 3600;
const pulses: { atS: number; peakNtu: number; tauS: number }[] = [];
const events: [number, string, string][] = [
  [0, 'stage:baseline', ''],
  [100, 'stage:emitters', ''],
];
for (let t = 120, n = 0; t < endS - 700; t += 700, n += 1) {
  events.push([t, 'emitter-open', n % 2 === 0 ? 'a' : 'b']);
  for (let p = 0; p < 3; p += 1) {
    const at = t + 40 + p * 200;
    events.push([at, 'agitate-start', ''], [at + 30, 'agitate-end', '']);
    pulses.push({ atS: at + 20, peakNtu: 600 / (p + 1), tauS: 20 });
  }
}
// Only pulses near a sample matter; the recipe would otherwise sum all of them 288,000 times.
const near = (timeS: number) => pulses.filter((p) => p.atS < timeS && timeS - p.atS < 400);
let window: readonly { atS: number; peakNtu: number; tauS: number }[] = [];
let windowAt = -1;
const run = makeRun({
  endS,
  hz: 10,
  events,
  conductivityUsCm: () => 1200,
  reading: (ntu, timeS) => {
    if (Math.floor(timeS) !== windowAt) {
      windowAt = Math.floor(timeS);
      window = near(timeS);
    }
    return window.reduce((sum, p) => {
      const age = timeS - p.atS;
      return sum + p.peakNtu * (1 - Math.exp(-age / 4)) * Math.exp(-age / p.tauS);
    }, ntu);
  },
});
const samples = run.samples.map((s) => ({ ...s, supplyC: 50, turbidityOutNtu: 3 + 0.1 * (s.turbidityNtu ?? 0) }));
const times: number[] = [];
const before = process.memoryUsage().rss;
for (let i = 0; i < 4; i += 1) {
  const from = performance.now();
  const result = analyseRecording(run.context, samples, run.events);
  times.push((performance.now() - from) / 1000);
  if (result.visits.length < 10) throw new Error('The bench run has too few visits.');
}
const seconds = [...times].sort((a, b) => a - b)[1] ?? Number.NaN;
console.log(
  JSON.stringify(
    {
      machine: { cpu: os.cpus()[0]?.model, cores: os.cpus().length, node: process.version, load: os.loadavg()[0] },
      samples: samples.length,
      visits: run.events.filter((e) => e.event === 'emitter-open').length,
      secondsEach: times,
      samplesPerS: Math.round(samples.length / seconds),
      eightHoursS: seconds,
      grownMb: Math.round((process.memoryUsage().rss - before) / 1e6),
      rssMb: Math.round(process.memoryUsage().rss / 1e6),
    },
    null,
    1,
  ),
);
