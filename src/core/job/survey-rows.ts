import type { RunContext } from './context.ts';
import type { RunEvent } from './event.ts';
import { type Survey, workOut } from './survey.ts';
import { rowsOfText, type TableFault, textOfRows } from '../quantity/text-table.ts';
import { rowsFromSurvey, surveyColumns, surveyFromRows } from './survey-csv.ts';

type Data = NonNullable<RunEvent['data']>;

/** The survey that a context stands for: its emitters by their litres, the rest of the water as one part. */
export function surveyOfContext(context: RunContext): Survey {
  const { emitters } = context;
  const mean = emitters.reduce((sum, e) => sum + e.volume_l, 0) / Math.max(1, emitters.length);
  const restL = Math.max(0.1, Math.round(10 * (context.loop_volume_l - mean)) / 10);
  return {
    v: 1,
    system: context.system ?? 'sealed',
    emitters: emitters.map((e) => ({
      id: e.id,
      name: e.name || e.id,
      room: '',
      floor: 0,
      type: 'panel',
      material: 'steel',
      litres: e.volume_l,
    })),
    runs: [],
    others: emitters.length === 0 ? [] : [{ id: 'rest', name: 'Pipes, heat source, rig', litres: restL, isRig: false }],
    note: '',
  };
}

/** The survey as a table in text, to be kept and taken up at the next visit. */
export function textOfSurvey(survey: Survey): string {
  return textOfRows(rowsFromSurvey(survey));
}

export interface SurveyChange {
  readonly survey: Survey | null;
  readonly faults: readonly TableFault[];
}

/** The survey after an event of its own; `survey: null` when the event makes no survey, with what is wrong. */
export function changedSurvey(survey: Survey, event: Pick<RunEvent, 'event' | 'note' | 'data'>): SurveyChange {
  const data = event.data ?? {};
  switch (event.event) {
    case 'survey-table':
      return surveyFromRows(rowsOfText(typeof data['csv'] === 'string' ? data['csv'] : ''));
    case 'survey-row':
      return withRow(survey, data);
    case 'survey-remove':
      return { survey: without(survey, String(data['id'] ?? '')), faults: [] };
    case 'survey-order':
      return { survey: inOrder(survey, event.note.split(' ')), faults: [] };
    default:
      return { survey, faults: [] };
  }
}

/** One row added, or put in the place of that with its id. */
function withRow(survey: Survey, data: Data): SurveyChange {
  const cells = surveyColumns.map((c) => {
    const value = data[c];
    return value === undefined || value === null || typeof value === 'boolean' ? '' : String(value);
  });
  const one = surveyFromRows([[...surveyColumns], cells]);
  if (!one.survey) return one;
  if (data['kind'] === 'system') return { survey: { ...survey, system: one.survey.system }, faults: [] };
  const merged: Survey = {
    ...survey,
    emitters: put(survey.emitters, one.survey.emitters),
    runs: put(survey.runs, one.survey.runs),
    others: put(survey.others, one.survey.others),
  };
  return { survey: merged, faults: [] };
}

function put<T extends { readonly id: string }>(list: readonly T[], added: readonly T[]): T[] {
  const known = list.map((x) => added.find((a) => a.id === x.id) ?? x);
  return [...known, ...added.filter((a) => !list.some((x) => x.id === a.id))];
}

function without(survey: Survey, id: string): Survey {
  return {
    ...survey,
    emitters: survey.emitters.filter((e) => e.id !== id),
    runs: survey.runs.filter((r) => r.id !== id),
    others: survey.others.filter((o) => o.id !== id),
  };
}

function inOrder(survey: Survey, ids: readonly string[]): Survey {
  const place = (id: string, i: number): number => (ids.includes(id) ? ids.indexOf(id) : ids.length + i);
  const emitters = survey.emitters
    .map((e, i) => ({ e, at: place(e.id, i) }))
    .toSorted((a, b) => a.at - b.at)
    .map(({ e }) => e);
  return { ...survey, emitters };
}

export const surveyEvents: ReadonlySet<string> = new Set([
  'survey-row',
  'survey-remove',
  'survey-order',
  'survey-table',
]);

/** What the survey comes to, worked out once for each survey. */
const workedOut = new WeakMap<Survey, ReturnType<typeof workOut>>();
export function surveyFigures(survey: Survey): ReturnType<typeof workOut> {
  const known = workedOut.get(survey);
  if (known) return known;
  const fresh = workOut(survey);
  workedOut.set(survey, fresh);
  return fresh;
}
