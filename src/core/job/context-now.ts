import { exact } from '../quantity/interval.ts';
import type { RunContext } from './context.ts';
import type { RunEvent } from './event.ts';
import { fold } from './fold.ts';
import { type Job, startState } from './state.ts';
import { contextOf, type Survey, type SurveyResult } from './survey.ts';
import { surveyEvents, surveyFigures } from './survey-rows.ts';
import { testOf } from './water-tests.ts';

/**
 * What the verdict goes by: the context that the run began with, with the survey and the mains sample of this run in
 * it. A survey without pipe runs leaves the litres of the pipes as they were.
 */
export function contextNow(begun: RunContext, job: Pick<Job, 'survey' | 'surveyTold' | 'entries'>): RunContext {
  const { result } = surveyFigures(job.survey);
  const surveyed = job.surveyTold && result ? surveyedContext(begun, job.survey, result) : begun;
  const overNtu = typedOf(job, 'rinse-over-ntu');
  const overPercent = typedOf(job, 'rinse-over-percent');
  if (!job.entries['sample mains'] && overNtu === null && overPercent === null) return surveyed;
  const { turbidity, conductivity } = testOf(job, 'mains');
  return {
    ...surveyed,
    mains: {
      ...surveyed.mains,
      ...(turbidity ? { turbidity_ntu: turbidity.value } : {}),
      ...(conductivity ? { conductivity_us_cm: conductivity.value } : {}),
      ...(overNtu === null ? {} : { over_ntu: overNtu }),
      ...(overPercent === null ? {} : { over_share: overPercent / 100 }),
    },
  };
}

/** A typed figure of the run, or null. */
function typedOf(job: Pick<Job, 'entries'>, what: string): number | null {
  const value = job.entries[`typed ${what}`]?.data['value'];
  return typeof value === 'number' && value > 0 ? value : null;
}

function surveyedContext(begun: RunContext, survey: Survey, result: SurveyResult): RunContext {
  const part = contextOf(survey, result);
  const knowsPaths = result.emitters.some((e) => (e.pathL ?? exact(0)).value > 0);
  const kept = knowsPaths
    ? { loop_volume_l: Math.max(0.1, part.loop_volume_l), return_volume_l: part.return_volume_l }
    : { loop_volume_l: begun.loop_volume_l, return_volume_l: begun.return_volume_l };
  const emitters = part.emitters.map((e) => ({ ...begun.emitters.find((b) => b.id === e.id), ...e }));
  return { ...begun, ...part, ...kept, emitters };
}

/** Whether an event can change the context: a survey (but not the order of work), a mains test, or what changes one. */
export function tellsContext(event: RunEvent): boolean {
  return (
    (surveyEvents.has(event.event) && event.event !== 'survey-order') ||
    event.event === 'sample' ||
    event.event === 'corrected' ||
    (event.event === 'typed' && String(event.data?.['what']).startsWith('rinse-over-')) ||
    event.data?.['undoes'] !== undefined
  );
}

/** The context of a run by all its events. */
export function contextOfEvents(
  begun: RunContext,
  stored: readonly { readonly id: string; readonly event: RunEvent; readonly who: string }[],
): RunContext {
  if (!stored.some((s) => tellsContext(s.event))) return begun;
  const { job } = stored.reduce(fold, startState(begun));
  return contextNow(begun, job);
}
