/**
 * How often the forecast's interval holds the true clear moment, and how far off its likely moment is: asked every ten
 * seconds from the end of a visit's last pass until its water is truly clear, on simulated runs of every kind. Prints JSON, by
 * what was waited for.
 *
 *   npx tsx bench/forecast.ts [--runs N] [--from SEED] [--folder DIR]
 */
import { createAnalysis } from '../src/core/analyse.ts';
import type { VerdictState } from '../src/core/line/verdict.ts';
import { familyNames } from '../simulators/dataset.ts';
import { type BenchRun, benchRun } from './dataset.ts';
import { type Asked, heldOf, runsAsked } from './held.ts';

interface AskedVisit extends Asked {
  readonly state: VerdictState;
  readonly family: string;
}

const everyS = 10;

/** Every asking of one run. */
export function askForecasts(run: BenchRun): AskedVisit[] {
  const asked: AskedVisit[] = [];
  const analysis = createAnalysis(run.context);
  const events = [...run.events].sort((a, b) => a.timeS - b.timeS);
  let next = 0;
  let lastS = Number.NEGATIVE_INFINITY;
  for (const sample of run.samples) {
    for (let e = events[next]; e && e.timeS <= sample.timeS; e = events[++next]) analysis.event(e);
    analysis.sample(sample);
    if (sample.timeS - lastS < everyS) continue;
    lastS = sample.timeS;
    const trueS = run.visits.find(
      (v) =>
        sample.timeS > (v.passes.at(-1)?.endS ?? Number.POSITIVE_INFINITY) + 3 &&
        sample.timeS < Math.min(v.trueClearS ?? 0, v.toS),
    )?.trueClearS;
    if (trueS === undefined || trueS === null) continue;
    const { state, forecast } = analysis.verdict;
    // Where nothing can be told, or clear is told already, none is due.
    if (state === 'cannot-tell' || state === 'clear') continue;
    asked.push({
      state,
      family: run.family,
      forecast: forecast && { ...forecast, likelyS: forecast.clearAtS },
      trueS,
    });
  }
  return asked;
}

if (process.argv[1]?.endsWith('/forecast.ts')) {
  const { folder, seeds } = runsAsked();
  const asked = familyNames.flatMap((family) => seeds.flatMap((seed) => askForecasts(benchRun(folder, family, seed))));
  const states = ['watching', 'carrying', 'settling'] as const;
  const byState = Object.fromEntries(states.map((s) => [s, heldOf(asked.filter((a) => a.state === s))]));
  const byFamily = Object.fromEntries(familyNames.map((f) => [f, heldOf(asked.filter((a) => a.family === f))]));
  console.log(JSON.stringify({ all: heldOf(asked), byState, byFamily }, null, 1));
}
