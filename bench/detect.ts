/**
 * The verdict's cost per sample: an hour-long visit after visit at 10 Hz through the very `createAnalysis` that runs live,
 * beside a bare loop that only reads the same samples.
 *
 *   npx tsx bench/detect.ts
 */
import os from 'node:os';
import { createAnalysis } from '../src/core/analyse.ts';
import type { RunContext } from '../src/core/job/context.ts';
import type { RunEvent } from '../src/core/job/event.ts';
import { emptySample, type Sample } from '../src/core/quantity/sample.ts';
import { Random } from '../simulators/random.ts';

const hours = 2;
const rateHz = 10;
const visitS = 600;
const passEveryS = 150;

const visits = (hours * 3600) / visitS;
const context: RunContext = {
  emitters: Array.from({ length: visits }, (_, i) => ({ id: `e${i}`, name: `Emitter ${i}`, volume_l: 6 })),
  loop_volume_l: 90,
  return_volume_l: 4,
  mains: { turbidity_ntu: 0.5, conductivity_us_cm: 350 },
  sample_hz: rateHz,
};

const random = new Random('detect');
const samples: Sample[] = [];
const events: RunEvent[] = [{ timeS: 0, event: 'stage:emitters', emitter: '', note: '' }];
for (let v = 0; v < visits; v++) {
  const emitter = `e${v}`;
  events.push({ timeS: v * visitS + 5.05, event: 'emitter-open', emitter, note: '' });
  for (let p = 60; p < visitS - 60; p += passEveryS)
    events.push({ timeS: v * visitS + p + 0.05, event: 'agitate-end', emitter, note: '' });
  events.push({ timeS: (v + 1) * visitS - 5 + 0.05, event: 'emitter-shut', emitter, note: '' });
}
for (let i = 1; i <= hours * 3600 * rateHz; i++) {
  const timeS = i / rateHz;
  const sincePassS = ((timeS % visitS) - 60 - 40 + passEveryS) % passEveryS;
  const pulse = 300 * (sincePassS / 8) * Math.exp(-sincePassS / 15);
  const turbidityNtu = 20 + pulse + random.normal() * (0.5 + 0.01 * pulse);
  samples.push(
    Object.assign(emptySample(timeS), { turbidityNtu, flowLpm: 9 + 0.1 * random.normal(), pressureBar: 1.1 }),
  );
}

function best(run: () => number): number {
  let least = Number.POSITIVE_INFINITY;
  for (let round = 0; round < 5; round++) {
    const from = performance.now();
    kept += run();
    least = Math.min(least, (performance.now() - from) / 1000);
  }
  return least;
}
/** What the loops found is added up, so that none of them can be left out. */
let kept = 0;

const bareS = best(() => samples.reduce((sum, s) => sum + (s.turbidityNtu ?? 0) + (s.flowLpm ?? 0), 0));
const verdictS = best(() => {
  const analysis = createAnalysis(context);
  let next = 0;
  for (const sample of samples) {
    for (let e = events[next]; e && e.timeS < sample.timeS; e = events[++next]) analysis.event(e);
    analysis.sample(sample);
  }
  return analysis.visits.length;
});

console.log(
  JSON.stringify(
    {
      machine: {
        cpu: os.cpus()[0]?.model ?? '',
        cores: os.cpus().length,
        node: process.version,
        load: os.loadavg()[0],
      },
      samples: samples.length,
      verdictSamplesPerS: Math.round(samples.length / verdictS),
      bareSamplesPerS: Math.round(samples.length / bareS),
      ratioToBare: verdictS / bareS,
      kept: kept > 0,
    },
    null,
    2,
  ),
);
