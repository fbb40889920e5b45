/**
 * How often the rinse's forecast holds the moment at which the water is told to be at mains level, for the emitter that it
 * comes through: asked every ten seconds from its opening on, on simulated rinses. Prints JSON, by kind of rinse.
 *
 *   npx tsx bench/rinse-forecast.ts [--runs N] [--from SEED] [--folder DIR]
 */
import { createAnalysis } from '../src/core/analyse.ts';
import { contextNow } from '../src/core/job/context-now.ts';
import { fold } from '../src/core/job/fold.ts';
import { StageLive } from '../src/core/job/stages/live.ts';
import { workedOut } from '../src/core/job/stages/worked.ts';
import { startState } from '../src/core/job/state.ts';
import type { RinseForecast } from '../src/core/rinse/forecast.ts';
import { familyNames } from '../simulators/dataset.ts';
import { type BenchRun, benchRun } from './dataset.ts';
import { type Asked, heldOf, runsAsked } from './held.ts';

const everyS = 10;

/** Every asking of one run. An emitter at which mains level is never told is left out: nobody knows when it would be. */
export function askRinse(run: BenchRun): Asked[] {
  const asked: Asked[] = [];
  const analysis = createAnalysis(run.context);
  const live = new StageLive(run.context.system ?? 'sealed');
  const events = [...run.events].sort((a, b) => a.timeS - b.timeS);
  let state = startState(run.context);
  let next = 0;
  let lastS = Number.NEGATIVE_INFINITY;
  let waiting: { readonly timeS: number; readonly forecast: RinseForecast | null }[] = [];
  let isTold = false;
  for (const sample of run.samples) {
    for (let e = events[next]; e && e.timeS <= sample.timeS; e = events[++next]) {
      analysis.event(e);
      state = fold(state, { id: `e${next}`, who: 'engineer', event: e });
      live.event(e, state.job);
      if (e.event !== 'emitter-open') continue;
      waiting = [];
      isTold = false;
    }
    analysis.sample(sample);
    live.sample(sample, () => analysis.figures.excessNtu);
    const { rinse } = analysis;
    if (!rinse || !run.rinse || sample.timeS > run.rinse.toS || isTold) continue;
    if (rinse.verdict.state === 'clear') {
      isTold = true;
      asked.push(
        ...waiting.map(({ timeS, forecast }) => ({
          forecast: forecast && { ...forecast, likelyS: forecast.seconds },
          trueS: sample.timeS - timeS,
        })),
      );
    } else if (sample.timeS - lastS >= everyS) {
      lastS = sample.timeS;
      const context = contextNow(run.context, state.job);
      const { forecast } = workedOut(state.job, live.figures(sample.timeS), context, rinse.verdict, analysis.settings);
      waiting.push({ timeS: sample.timeS, forecast });
    }
  }
  return asked;
}

if (process.argv[1]?.endsWith('/rinse-forecast.ts')) {
  const { folder, seeds } = runsAsked();
  const kinds = familyNames.filter((name) => name.startsWith('rinse'));
  const byKind = kinds.map((kind) => [kind, seeds.flatMap((seed) => askRinse(benchRun(folder, kind, seed)))] as const);
  const all = heldOf(byKind.flatMap(([, asked]) => asked));
  console.log(
    JSON.stringify({ all, byKind: Object.fromEntries(byKind.map(([kind, asked]) => [kind, heldOf(asked)])) }, null, 1),
  );
}
