/**
 * A process of its own that judges one simulated run after another; `verdict.ts` starts one for each core. A message in:
 * `Task`. A message out: `Judged`.
 */
import { analyseRecording, type RecordingResult, type Verdicts } from '../src/core/analyse-recording.ts';
import { runRule, rules } from './baselines/rules.ts';
import { type BenchRun, benchRun } from './dataset.ts';
import { scoreRun } from './score.ts';
import { scoreTroubles } from './troubles.ts';
import { emptyTally, type Tally } from './tally.ts';

export interface Task {
  readonly folder: string;
  readonly family: string;
  readonly seed: number;
}

export interface Judged {
  readonly task: Task;
  /** Of each judge, in the order of `judgeNames`. */
  readonly tallies: readonly Tally[];
  /** What was wrong with ours. */
  readonly complaints: readonly string[];
  /** Ours alone: readings, and seconds that it took. */
  readonly samples: number;
  readonly seconds: number;
}

type Judge = (run: BenchRun) => Verdicts | RecordingResult;

export const ours = 'limpid';

const judges: Readonly<Record<string, Judge>> = {
  [ours]: (run) => analyseRecording(run.context, run.samples, run.events),
  ...Object.fromEntries(Object.entries(rules).map(([name, make]) => [name, (run: BenchRun) => runRule(run, make)])),
};

export const judgeNames: readonly string[] = Object.keys(judges);

function judgeRun(task: Task): Judged {
  const run = benchRun(task.folder, task.family, task.seed);
  const complaints: string[] = [];
  let seconds = 0;
  const tallies = Object.entries(judges).map(([name, judge]) => {
    const tally = emptyTally();
    const from = performance.now();
    const result = judge(run);
    if (name === ours) seconds = (performance.now() - from) / 1000;
    scoreRun(run, result, tally, name === ours ? (what) => complaints.push(what) : undefined);
    if ('notices' in result)
      scoreTroubles(run, result.notices, tally, (what) => complaints.push(`${run.family}-${run.seed} ${what}`));
    return tally;
  });
  return { task, tallies, complaints, samples: run.samples.length, seconds };
}

// Only where another process started this one for it: the names above are read by the starter too.
if (process.send && process.argv[2] === 'judge') process.on('message', (task: Task) => process.send?.(judgeRun(task)));
