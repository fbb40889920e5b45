import { existsSync, mkdirSync, readFileSync, writeFileSync } from 'node:fs';
import type { RunContext } from '../src/core/job/context.ts';
import type { RunEvent } from '../src/core/job/event.ts';
import { channels } from '../src/core/quantity/channels.ts';
import { emptySample, type Sample } from '../src/core/quantity/sample.ts';
import { simulateRun } from '../simulators/dataset.ts';
import { clearMoments } from '../simulators/truth/clear.ts';
import type { TruthRow } from '../simulators/truth/log.ts';
import type { RinseTruth, TrueStretch, VisitTruth } from '../simulators/truth/truth.ts';

/** One simulated run with its truth, without the rows of the physics. */
export interface BenchRun {
  readonly family: string;
  readonly seed: number;
  readonly context: RunContext;
  readonly samples: readonly Sample[];
  readonly events: readonly RunEvent[];
  readonly visits: readonly VisitTruth[];
  readonly rinse: RinseTruth | null;
}

interface Stored extends Omit<BenchRun, 'samples'> {
  readonly samples?: undefined;
  readonly rows: readonly (readonly (number | null)[])[];
}

/**
 * A run from the simulators, kept under `folder` because the physics takes seconds and the verdict milliseconds. Delete
 * the folder after a change of the simulators.
 */
export function benchRun(folder: string, family: string, seed: number): BenchRun {
  const file = `${folder}/${family}-${seed}.json`;
  if (!existsSync(file)) {
    const made = makeBenchRun(family, seed);
    const rows = made.samples.map((s) => [s.timeS, ...channels.map((c) => s[c.key])]);
    mkdirSync(folder, { recursive: true });
    const stored: Stored = { ...made, samples: undefined, rows };
    writeFileSync(file, JSON.stringify(stored));
  }
  const stored: Stored = JSON.parse(readFileSync(file, 'utf8'));
  return { ...stored, samples: stored.rows.map(toSample) };
}

/** A run from the simulators, made anew. */
export function makeBenchRun(family: string, seed: number): BenchRun {
  const { context, samples, events, truth } = simulateRun(family, seed);
  const visits = truth.visits.map((visit) => seen(visit, truth.rows));
  return { family, seed, context, samples, events, visits, rinse: truth.rinse };
}

/**
 * The truth of a visit by what the sensor can meet: set free is what passes it until the stretch ends and what then still
 * stands in the water, not what lies loosened in the emitter and never moves.
 */
function seen(visit: VisitTruth, all: readonly TruthRow[]): VisitTruth {
  const rows = all.filter((row) => row.timeS >= visit.fromS && row.timeS < visit.toS);
  const first = rows[0];
  const settled = (row: TruthRow) => row.totalNtu - row.backgroundNtu;
  const stretches = visit.stretches.map((stretch): TrueStretch => {
    const inside = rows.filter((row) => row.timeS >= stretch.fromS && row.timeS < stretch.toS);
    const end = inside.at(-1);
    if (!first || !end) return { ...stretch, clearS: null, ownClearS: null };
    const freed = end.ownPassedNtuL + (end.ownNtu * visit.pathL) / 2;
    const peakNtu = rows.reduce((peak, row) => (row.timeS < stretch.toS ? Math.max(peak, settled(row)) : peak), 0);
    const { clearS, ownS } = clearMoments({
      rows: inside.map((row) => ({ ...row, ownToComeNtuL: Math.max(0, freed - row.ownPassedNtuL) })),
      peakNtu,
      fromLitres: inside[0]?.litres ?? 0,
      pathL: visit.pathL,
    });
    return { ...stretch, clearS, ownClearS: ownS };
  });
  const last = stretches.at(-1);
  return {
    ...visit,
    stretches,
    trueClearS: visit.mustWithhold ? null : (last?.clearS ?? null),
    ownClearS: visit.mustWithhold ? null : (last?.ownClearS ?? null),
  };
}

function toSample(row: readonly (number | null)[]): Sample {
  const sample = emptySample(row[0] ?? 0);
  channels.forEach((c, i) => {
    sample[c.key] = row[i + 1] ?? null;
  });
  return sample;
}
