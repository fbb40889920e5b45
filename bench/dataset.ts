import { createHash } from 'node:crypto';
import { existsSync, mkdirSync, readdirSync, readFileSync, writeFileSync } from 'node:fs';
import { gunzipSync, gzipSync } from 'node:zlib';
import type { RunContext } from '../src/core/job/context.ts';
import type { RunEvent } from '../src/core/job/event.ts';
import { channels } from '../src/core/quantity/channels.ts';
import { emptySample, type Sample } from '../src/core/quantity/sample.ts';
import { type RunLimits, simulateRun } from '../simulators/dataset.ts';
import type { StirSpan } from '../simulators/truth/releases.ts';
import { type SiteTrouble, siteTroubles } from './troubles.ts';
import type { RinseTruth, VisitTruth } from '../simulators/truth/truth.ts';

/** One simulated run with its truth, without the rows of the physics. */
export interface BenchRun {
  readonly family: string;
  readonly seed: number;
  readonly context: RunContext;
  readonly samples: readonly Sample[];
  readonly events: readonly RunEvent[];
  readonly visits: readonly VisitTruth[];
  readonly stirs: readonly StirSpan[];
  readonly rinse: RinseTruth | null;
  readonly troubles: readonly SiteTrouble[];
}

interface Stored extends Omit<BenchRun, 'samples'> {
  readonly samples?: undefined;
  readonly rows: readonly (readonly (number | null)[])[];
}

/**
 * A folder for the runs of the simulators as they are now, under `root`: after a change of their sources it is another.
 */
export function folderOfRuns(root: string): string {
  const hash = createHash('sha256');
  const names = readdirSync('simulators', { recursive: true, encoding: 'utf8' });
  for (const name of names.filter((n) => n.endsWith('.ts')).sort())
    hash.update(name).update(readFileSync(`simulators/${name}`));
  return `${root}/${hash.digest('hex').slice(0, 12)}`;
}

/** A run from the simulators, kept under `folder` because the physics takes longer than the verdict. */
export function benchRun(folder: string, family: string, seed: number): BenchRun {
  const file = `${folder}/${family}-${seed}.json.gz`;
  if (!existsSync(file)) {
    const made = makeBenchRun(family, seed);
    const rows = made.samples.map((s) => [s.timeS, ...channels.map((c) => s[c.key])]);
    mkdirSync(folder, { recursive: true });
    const stored: Stored = { ...made, samples: undefined, rows };
    writeFileSync(file, gzipSync(JSON.stringify(stored), { level: 1 }));
  }
  const stored: Stored = JSON.parse(gunzipSync(readFileSync(file)).toString());
  // JSON knows no infinity: the transit of a visit without flow.
  const visits = stored.visits.map((v) => ({ ...v, transitS: v.transitS ?? Number.POSITIVE_INFINITY }));
  return { ...stored, visits, samples: stored.rows.map(toSample) };
}

/** A run from the simulators, made anew. */
export function makeBenchRun(family: string, seed: number, limits: RunLimits = {}): BenchRun {
  const { context, samples, events, truth } = simulateRun(family, seed, limits);
  const { visits, stirs, rinse } = truth;
  return { family, seed, context, samples, events, visits, stirs, rinse, troubles: siteTroubles(truth, events) };
}

function toSample(row: readonly (number | null)[]): Sample {
  const sample = emptySample(row[0] ?? 0);
  channels.forEach((c, i) => {
    sample[c.key] = row[i + 1] ?? null;
  });
  return sample;
}
