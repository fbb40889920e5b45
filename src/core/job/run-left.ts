import type { Visit } from '../line/verdict.ts';
import type { StageName } from './event.ts';
import { type RunForecast, type RunForecastInput, runForecast } from './whole-run-forecast.ts';

type StageSpan = RunForecastInput['stagesMin'][number];

/**
 * Minutes that the stages beside the emitters take: least, usual, most. Twenty minutes of circulation is common practice;
 * the others are our own guess. No source; a firm's own times replace them.
 */
export const stageMinutes: Readonly<Partial<Record<StageName, StageSpan>>> = {
  survey: { least: 10, usual: 20, most: 45 },
  'before-samples': { least: 5, usual: 10, most: 20 },
  join: { least: 15, usual: 30, most: 60 },
  fill: { least: 10, usual: 20, most: 40 },
  dose: { least: 10, usual: 25, most: 60 },
  warm: { least: 10, usual: 20, most: 45 },
  'half-fill': { least: 5, usual: 15, most: 30 },
  circulate: { least: 20, usual: 25, most: 45 },
  rinse: { least: 15, usual: 30, most: 70 },
  'after-samples': { least: 5, usual: 10, most: 20 },
  protect: { least: 10, usual: 20, most: 40 },
  'hand-over': { least: 5, usual: 10, most: 20 },
};

/**
 * The forecast from what a run has seen. An emitter's minutes run from its opening to the next opening, so what lies
 * between counts; one visited again counts as one, longer. The time before a pause is not known to be one: leave visits
 * that were broken off over night out.
 *
 * @param emitters ids of all that are to be done, skipped ones left out
 * @param stagesLeft stages after the emitters that are still to come
 * @param nowS run-clock seconds
 */
export function runLeft(
  visits: readonly Visit[],
  emitters: readonly string[],
  stagesLeft: readonly StageName[],
  nowS: number,
  minutesOf: Readonly<Partial<Record<StageName, StageSpan>>> = stageMinutes,
): RunForecast {
  const spent = new Map<string, number>();
  let open: string | null = null;
  for (const [i, visit] of visits.entries()) {
    const untilS = visits[i + 1]?.fromS ?? visit.toS ?? nowS;
    spent.set(visit.emitter, (spent.get(visit.emitter) ?? 0) + Math.max(0, untilS - visit.fromS) / 60);
    open = visit.toS === null && i === visits.length - 1 ? visit.emitter : null;
  }
  const openMin = open === null ? null : (spent.get(open) ?? 0);
  if (open !== null) spent.delete(open);
  return runForecast({
    doneMin: [...spent.values()],
    openMin,
    left: emitters.filter((id) => !spent.has(id) && id !== open).length,
    stagesMin: stagesLeft.flatMap((s) => minutesOf[s] ?? []),
  });
}
