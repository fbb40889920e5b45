/**
 * The change-point room measured, as JSON on stdout: off-line growth with the rows, on-line samples a second, and the
 * mean delay of the on-line detectors for a plain one-sided shift over the least possible, by simulation with 500
 * reference samples. The likelihood ratio's threshold is the one calibrated for a learned reference; those of the others
 * are the theory's for a somewhat shorter time between false alarms, so that the measured one, which stands beside each,
 * comes out near the wanted one.
 * Run: npx tsx bench/changepoint.ts [--delay]
 */
import os from 'node:os';
import { cusumThreshold, glrThresholdLearned } from '../src/core/changepoint/arl.ts';
import { Bocpd } from '../src/core/changepoint/bocpd.ts';
import { leastDelay } from '../src/core/changepoint/bound.ts';
import { MeanCost } from '../src/core/changepoint/cost-mean.ts';
import { MeanCovCost } from '../src/core/changepoint/cost-mean-cov.ts';
import { MeanVarCost } from '../src/core/changepoint/cost-mean-var.ts';
import { SlopeCost } from '../src/core/changepoint/cost-slope.ts';
import { Cusum } from '../src/core/changepoint/cusum.ts';
import type { Detector } from '../src/core/changepoint/detector.ts';
import { Ewma } from '../src/core/changepoint/ewma.ts';
import { fpop } from '../src/core/changepoint/fpop.ts';
import { Glr } from '../src/core/changepoint/glr.ts';
import { pelt } from '../src/core/changepoint/pelt.ts';
import { mbic } from '../src/core/changepoint/penalty.ts';

/** Seeded Gaussian noise (mulberry32 and Box-Muller). */
function gaussian(seed: number): () => number {
  let s = seed;
  const uniform = (): number => {
    s = (s + 0x6d2b79f5) | 0;
    let t = Math.imul(s ^ (s >>> 15), 1 | s);
    t = (t + Math.imul(t ^ (t >>> 7), 61 | t)) ^ t;
    return ((t ^ (t >>> 14)) >>> 0) / 4294967296;
  };
  return () => Math.sqrt(-2 * Math.log(1 - uniform())) * Math.cos(2 * Math.PI * uniform());
}

function levels(rows: number, every: number, seed: number): Float64Array {
  const g = gaussian(seed);
  return Float64Array.from({ length: rows }, (_, i) => 2 * (Math.floor(i / every) % 2) + g());
}

/** Median of three runs after one to warm up, seconds of processor time: a busy machine slows the clock, not this. */
function time(work: () => void): number {
  work();
  const all = [0, 1, 2].map(() => {
    const from = process.cpuUsage();
    work();
    const { user, system } = process.cpuUsage(from);
    return (user + system) / 1e6;
  });
  return all.sort((a, b) => a - b)[1] ?? 0;
}

const results: Record<string, number> = {};
for (const n of [10_000, 100_000, 1_000_000]) {
  const dense = levels(n, 1000, 7);
  const sparse = levels(n, Math.ceil(n / 6), 8);
  results[`pelt mean, a change per 1000, ${n} rows, s`] = time(() => pelt(new MeanCost(dense), mbic(n, 1)));
  results[`fpop mean, a change per 1000, ${n} rows, s`] = time(() => fpop(dense, { penalty: mbic(n, 1) }));
  results[`fpop mean, five changes, ${n} rows, s`] = time(() => fpop(sparse, { penalty: mbic(n, 1) }));
  results[`fpop biweight, five changes, ${n} rows, s`] = time(() => fpop(sparse, { penalty: mbic(n, 1), cap: 3 }));
  if (n <= 100_000) {
    results[`pelt mean and variance, a change per 1000, ${n} rows, s`] = time(() =>
      pelt(new MeanVarCost(dense), mbic(n, 2)),
    );
    results[`pelt mean and covariance of two columns, a change per 1000, ${n} rows, s`] = time(() =>
      pelt(new MeanCovCost([dense, levels(n, 1000, 9)]), mbic(n, 5), 10),
    );
    results[`pelt slope, a change per 1000, ${n} rows, s`] = time(() => pelt(new SlopeCost(dense), mbic(n, 2)));
  }
}
const values = Float64Array.from({ length: 1_000_000 }, gaussian(9));
const detectors: Record<string, () => Detector> = {
  cusum: () => new Cusum({ reference: { samples: 500 }, h: 8 }),
  ewma: () => new Ewma({ reference: { samples: 500 }, width: 5 }),
  glr: () => new Glr({ reference: { samples: 500 }, threshold: 5.5 }),
  bocpd: () => new Bocpd({ reference: { samples: 500 } }),
};
for (const [name, make] of Object.entries(detectors))
  results[`on-line ${name}, million samples a second`] =
    1 /
    time(() => {
      const d = make();
      for (let i = 0; i < values.length; i++) d.step(values[i] ?? 0, i);
    });

/** Mean samples until the first declaration after 500 reference samples, the changed one counting 1. */
function until(make: () => Detector, shift: number, runs: number, normal: () => number): number {
  let sum = 0;
  for (let r = 0; r < runs; r++) {
    const d = make();
    for (let i = 0; i < 500; i++) d.step(normal(), i);
    let n = 1;
    while (n < 1_000_000 && !d.step(normal() + shift, n)) n++;
    sum += n;
  }
  return sum / runs;
}

function delayTable(): object[] {
  const normal = gaussian(2024);
  const reference = { samples: 500 };
  return [1000, 3600].flatMap((arl) => {
    const h = cusumThreshold(arl / 1.3, 0.5, 'one');
    const threshold = glrThresholdLearned(arl, 512, 1, 'one', 500);
    const rivals: Record<string, () => Detector> = {
      glr: () => new Glr({ reference, threshold, side: 'up' }),
      'cusum k 0.5': () => new Cusum({ reference, h, side: 'up' }),
      'bocpd (two-sided, its own threshold)': () => new Bocpd({ reference, meanRun: arl / 9, confidence: 0.5 }),
    };
    return Object.entries(rivals).map(([detector, make]) => {
      const delays = [0.5, 1, 2, 3].map((shift) => ({
        shift,
        delay: until(make, shift, 1000, normal),
        least: leastDelay(arl, shift),
      }));
      return {
        detector,
        wantedArl: arl,
        measuredArl: until(make, 0, 300, normal),
        delays: delays.map((d) => ({ ...d, ratio: d.delay / d.least })),
      };
    });
  });
}

const machine = { cpu: os.cpus()[0]?.model, cores: os.cpus().length, load: os.loadavg(), node: process.version };
const delay = process.argv.includes('--delay') ? delayTable() : undefined;
console.log(JSON.stringify({ machine, results, delay }, null, 2));
