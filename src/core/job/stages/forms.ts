import { z } from 'zod';
import { checkRate, rateUnits } from '../../chemistry/label-rate.ts';
import { limitsFromText } from '../../chemistry/limits-csv.ts';
import { testItemNames, testItems } from '../../chemistry/limits.ts';
import type { Message } from '../../message/message.ts';
import type { RunEvent } from '../event.ts';
import { isWater } from '../water-tests.ts';
import { changedSurvey, surveyEvents, surveyFigures } from '../survey-rows.ts';
import type { Survey } from '../survey.ts';
import type { Field } from './field.ts';
import { type Form, typedForm } from './stage.ts';
import { handOverForm, weighedForm } from './finish.ts';
import { limitForm, sampleForm } from './samples.ts';
import { labelForm } from './survey.ts';
import { doseForm } from './dose.ts';
import { isTypedName } from './typed.ts';

type Data = NonNullable<RunEvent['data']>;

/** The form that an event fills in; `null`: none of that kind, `undefined`: this event fills in no form. */
export function formOf(event: string, data: Data): Form | null | undefined {
  switch (event) {
    case 'sample': {
      const { water } = data;
      return isWater(water) ? sampleForm(water, null) : undefined;
    }
    case 'label':
      return data['what'] === 'cleaner' || data['what'] === 'inhibitor' ? labelForm(data['what']) : null;
    case 'dose':
      return data['what'] === 'cleaner' || data['what'] === 'inhibitor' ? doseForm(data['what'], null) : undefined;
    case 'typed':
      return isTypedName(data['what']) ? typedForm(data['what'], {}) : null;
    case 'hand-over':
      return handOverForm;
    case 'limit':
      return limitForm;
    case 'weighed':
      return weighedForm;
    default:
      return undefined;
  }
}

function fieldSchema(field: Field): z.ZodType {
  if (field.kind === 'choice') return z.enum(field.choices ?? []);
  if (field.kind === 'text') return z.string().trim().min(1).max(200);
  return z
    .number()
    .min(field.least ?? Number.NEGATIVE_INFINITY)
    .max(field.most ?? Number.POSITIVE_INFINITY);
}

function expectedOf(field: Field): string {
  if (field.kind === 'choice') return `one of ${(field.choices ?? []).join(', ')} is expected`;
  if (field.kind === 'text') return 'words are expected, at most 200 characters';
  const unit = field.unit ?? (field.quantity === undefined ? '' : insideUnit[field.quantity]);
  return possible(field.least ?? 'any', field.most ?? 'any', unit);
}

function possible(low: number | string, high: number | string, unit: string): string {
  return `${low} to ${high}${unit === '' ? '' : ` ${unit}`} is possible`;
}

const insideUnit = { pressure: 'bar', flow: 'l/min', volume: 'l', temperature: '°C' } as const;

/** What is wrong with what was typed, or null. */
export function refuseTyped(event: string, data: Data): Message | null {
  const form = formOf(event, data);
  if (form === undefined) return null;
  if (form === null) return { code: 'job.typed-unknown', params: { what: `${event} ${String(data['what'] ?? '')}` } };
  for (const field of form.fields) {
    const value = data[field.name];
    if ((value === undefined || value === null || value === '') && field.optional) continue;
    if (!fieldSchema(field).safeParse(value).success)
      return {
        code: 'job.typed-wrong',
        params: {
          label: field.label,
          found: value === undefined || value === '' ? 'nothing' : String(value),
          expected: expectedOf(field),
        },
      };
  }
  if (form.event === 'limit') return refuseLimit(data);
  if (form.event === 'label') return refuseRate(data);
  if (form.event === 'sample' && !form.fields.some((f) => typeof data[f.name] === 'number'))
    return {
      code: 'job.typed-wrong',
      params: { label: 'Test', found: 'no figure', expected: 'at least one is expected' },
    };
  return null;
}

/** A rate that no label means: most likely it was read in another unit. */
function refuseRate(data: Data): Message | null {
  const unit = rateUnits.find((u) => u === data['unit']);
  const { amount } = data;
  if (!unit || typeof amount !== 'number') return null;
  const checked = checkRate({ amount, unit });
  return checked.ok ? null : { code: checked.refusal.code, params: checked.refusal.params };
}

/** Bounds that no reading of that item can meet. */
function refuseLimit(data: Data): Message | null {
  const item = testItemNames.find((n) => n === data['item']);
  if (!item) return null;
  const { title, unit, low, high } = testItems[item];
  const wrong = (found: string, expected: string): Message => ({
    code: 'job.typed-wrong',
    params: { label: `Limit of ${title}`, found, expected },
  });
  for (const bound of [data['least'], data['most']])
    if (typeof bound === 'number' && (bound < low || bound > high))
      return wrong(String(bound), possible(low, high, unit));
  const { least, most } = data;
  if (typeof least === 'number' && typeof most === 'number' && least > most)
    return wrong(`at least ${least}, at most ${most}`, 'the least is no more than the most');
  return null;
}

/** What is wrong with a table of limits, or null: line and column, as with a survey. */
export function refuseLimitTable({ event, note, data }: Pick<RunEvent, 'event' | 'note' | 'data'>): Message | null {
  if (event !== 'limit-table') return null;
  const fault = limitsFromText(String(data?.['csv'] ?? ''), note).faults[0];
  return fault ? { code: 'job.limits-wrong', params: { ...fault } } : null;
}

/** What is wrong with a change of the survey, or null: what cannot be read, and sizes that cannot be. */
export function refuseSurvey(survey: Survey, event: Pick<RunEvent, 'event' | 'note' | 'data'>): Message | null {
  if (!surveyEvents.has(event.event)) return null;
  const { survey: next, faults } = changedSurvey(survey, event);
  const fault = faults[0];
  if (fault) return { code: 'job.survey-wrong', params: { ...fault } };
  if (!next)
    return { code: 'job.survey-wrong', params: { line: 1, column: '', found: 'no survey', expected: 'a table' } };
  const before = surveyFigures(survey).problems;
  const { problems } = surveyFigures(next);
  // An empty survey is a beginning, and what was wrong before is not this change's doing.
  const fresh = problems.find(
    (p) => p.part !== 'survey' && !before.some((b) => b.part === p.part && b.refusal.code === p.refusal.code),
  );
  return fresh ? fresh.refusal : null;
}
