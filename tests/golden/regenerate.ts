/**
 * Writes what is said now of each golden recording beside it, to be reviewed as a diff, and holds it against the truth of the
 * run that the recording was made from:
 *
 *   npx tsx tests/golden/regenerate.ts                the answers
 *   npx tsx tests/golden/regenerate.ts --recordings   the recordings anew from the simulators, too
 */
import { rmSync, writeFileSync } from 'node:fs';
import { join } from 'node:path';
import { makeBenchRun } from '../../bench/dataset.ts';
import { scoreRun } from '../../bench/score.ts';
import { emptyTally } from '../../bench/tally.ts';
import { simulateRun } from '../../simulators/dataset.ts';
import type { RecordingResult } from '../../src/core/analyse-recording.ts';
import { emptySample, type Sample } from '../../src/core/quantity/sample.ts';
import { writeRecording } from '../../src/recording/recording.ts';
import { expectedName, goldenFolder, goldenNames, verdictOf } from './verdicts.ts';

/** Family, seed, visits kept. Each shows another way in which a visit goes. */
const chosen: readonly (readonly [string, number, number])[] = [
  ['ordinary', 2, 2],
  ['heavy', 1, 1],
  ['clean', 1, 2],
  ['hard', 1, 1],
  ['echo', 1, 1],
  ['microbore', 1, 1],
  ['bubbles', 1, 1],
  ['saturation', 1, 1],
  ['stuck', 3, 1],
  ['dark', 9, 1],
  ['coarse', 1, 1],
  ['pump-stops', 8, 1],
  ['no-flow-meter', 2, 1],
  ['untold', 1, 1],
  ['gaps', 4, 2],
  ['rinse', 1, 1],
];

/** A row a second, of the channels that the verdict lives on, keeps the files small. */
function thinned(samples: readonly Sample[]): Sample[] {
  let nextS = 0;
  return samples.flatMap((s) => {
    if (s.timeS < nextS) return [];
    nextS = Math.floor(s.timeS) + 1;
    const { turbidityNtu, flowLpm, conductivityUsCm } = s;
    return [Object.assign(emptySample(s.timeS), { turbidityNtu, flowLpm, conductivityUsCm })];
  });
}

/** What the benchmark's judge says of it, in one line. */
function againstTruth(name: string, result: RecordingResult): string {
  const made = chosen.find(([family]) => family === name);
  if (!made) return 'made by no simulated run';
  const [family, seed, visits] = made;
  const tally = emptyTally();
  scoreRun(makeBenchRun(family, seed, { visits }), result, tally);
  const { clears, wrongOwn, wrongEcho, missed, due } = tally;
  return `clears ${clears}, wrong ${wrongOwn}, with the echo ${wrongEcho}; missed ${missed} of ${due}`;
}

if (process.argv.includes('--recordings')) {
  rmSync(goldenFolder, { recursive: true, force: true });
  for (const [family, seed, visits] of chosen) {
    const run = simulateRun(family, seed, { visits });
    const context = { ...run.context, sample_hz: 1 };
    writeRecording(join(goldenFolder, family), { context, samples: thinned(run.samples), events: run.events });
  }
}
for (const name of goldenNames()) {
  const verdict = verdictOf(name);
  writeFileSync(join(goldenFolder, name, expectedName), verdict);
  console.log(`${join(goldenFolder, name, expectedName)} written; ${againstTruth(name, JSON.parse(verdict))}`);
}
