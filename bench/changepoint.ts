/**
 * The change-point room measured, as JSON on stdout: off-line growth with the rows, on-line samples a second, and the
 * mean delay of the on-line detectors for a plain one-sided shift over the least possible, by simulation with 500
 * reference samples. The likelihood ratio's threshold is the one calibrated for a learned reference; those of the others
 * are the theory's for a somewhat shorter time between false alarms, so that the measured one, which stands beside each,
 * comes out near the wanted one.
 * Run: npx tsx bench/changepoint.ts [--delay]
 */
import os from 'node:os';
import { Bocpd } from '../src/core/changepoint/bocpd.ts';
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
import { seeded } from '../tests/src/core/changepoint/gaussian.ts';
import { plainShift } from './plain-shift.ts';

function levels(rows: number, every: number, seed: number): Float64Array {
  const g = seeded(seed).normal;
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
const values = Float64Array.from({ length: 1_000_000 }, seeded(9).normal);
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

const machine = { cpu: os.cpus()[0]?.model, cores: os.cpus().length, load: os.loadavg(), node: process.version };
const delay = process.argv.includes('--delay') ? plainShift() : undefined;
console.log(JSON.stringify({ machine, results, delay }, null, 2));
