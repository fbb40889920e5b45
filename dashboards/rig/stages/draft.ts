import type { StageField, StageForm } from '../../../src/core/job/view-schema.ts';
import { toInside, type UnitName } from '../../../src/core/quantity/units.ts';
import { decimalMark } from '../../shared/format.ts';
import { decimalsOf, outward, unitOf, units } from '../../shared/units.ts';
import { t, told } from '../../shared/words/language.ts';

/**
 * What stands in a field. A figure that the page put there is kept as the amount itself; what a person typed is kept as
 * typed, with the unit of that moment. Another choice of units then shows the same amount, never the same digits.
 */
export type Entry = { readonly inside: number } | { readonly text: string; readonly unit: UnitName | null };
export type Draft = Readonly<Record<string, Entry>>;

const nothing: Entry = { text: '', unit: null };

export function startOf(form: StageForm): Draft {
  return Object.fromEntries(
    form.fields.map((f): [string, Entry] => {
      const start = form.last?.[f.name] ?? f.start;
      return [f.name, typeof start === 'number' ? { inside: start } : { text: start ?? '', unit: null }];
    }),
  );
}

export function typed(field: StageField, text: string): Entry {
  return { text, unit: field.quantity === undefined ? null : units.value[field.quantity] };
}

function decimals(field: StageField): number {
  return field.quantity === undefined &&
    field.decimals === undefined &&
    field.step !== undefined &&
    Number.isInteger(field.step)
    ? 0
    : decimalsOf(field.quantity, field.decimals);
}

/** A figure in the unit chosen, without trailing noughts. */
function figureText(field: StageField, inside: number): string {
  return decimalMark(String(Number(outward(field.quantity, inside).toFixed(decimals(field)))));
}

/** A figure from what was typed, comma or point; NaN when it is none. */
export function figureOf(text: string): number {
  return /^\s*[-+]?\d+([.,]\d+)?\s*$/.test(text) ? Number(text.trim().replace(',', '.')) : Number.NaN;
}

/** The amount in our units; NaN where no figure stands. */
export function insideOf(entry: Entry = nothing): number {
  if ('inside' in entry) return entry.inside;
  const figure = figureOf(entry.text);
  return entry.unit === null ? figure : toInside(figure, entry.unit);
}

/** What the field shows now. */
export function textOf(field: StageField, entry: Entry = nothing): string {
  if ('inside' in entry) return figureText(field, entry.inside);
  const isNow = field.quantity === undefined || entry.unit === null || entry.unit === units.value[field.quantity];
  const inside = insideOf(entry);
  return isNow || Number.isNaN(inside) ? entry.text : figureText(field, inside);
}

/** A step up or down, held within what is possible. */
export function stepped(field: StageField, entry: Entry | undefined, by: number): Entry {
  const now = insideOf(entry);
  const next = (Number.isNaN(now) ? 0 : now) + by;
  return { inside: Math.min(field.most ?? next, Math.max(field.least ?? next, next)) };
}

/** What a form tells: its own words, and what was filled in. */
export type Filled = Record<string, string | number>;

/** Whose reading it is that is shown: of what was kept as it was kept, else of what is shown to begin with. */
export function shownBy(form: StageForm, field: StageField): string | number | undefined {
  return form.last?.[field.name] === undefined ? field.startBy : form.last[`${field.name}By`];
}

/** What would be sent, or what is wrong with it; what was not changed stays the reading of whom it was. */
export function filledIn(form: StageForm, draft: Draft, changed: Draft): Filled | string {
  const data: Filled = { ...form.fixed };
  for (const field of form.fields) {
    const entry = draft[field.name];
    const text = textOf(field, entry).trim();
    if (text === '') {
      if (field.optional) continue;
      return t('{field} is missing.', { field: field.label });
    }
    if (field.kind !== 'number') {
      data[field.name] = text;
      continue;
    }
    const value = insideOf(entry);
    if (Number.isNaN(value)) return t('{field}: "{found}" is no number.', { field: field.label, found: text });
    const low = field.least ?? Number.NEGATIVE_INFINITY;
    const high = field.most ?? Number.POSITIVE_INFINITY;
    if (value < low - 1e-9 || value > high + 1e-9)
      return t('{field}: {least} to {most} {unit} is possible.', {
        field: field.label,
        least: field.least === undefined ? '' : figureText(field, field.least),
        most: field.most === undefined ? '' : figureText(field, field.most),
        unit: unitOf(field.quantity, field.unit ?? ''),
      });
    data[field.name] = Math.round(value * 1e6) / 1e6;
    const by = changed[field.name] === undefined ? shownBy(form, field) : undefined;
    if (by !== undefined) data[`${field.name}By`] = by;
  }
  return data;
}

/** What was kept last of this form, in one line; null: nothing yet. */
export function lastText(form: StageForm): string | null {
  const what = figuresText(form);
  return what === '' ? null : t('Kept: {what}', { what });
}

/** The figures of what was kept, in one line; '' where there are none. */
export function figuresText(form: StageForm): string {
  const parts = form.fields.flatMap((f) => {
    const value = form.last?.[f.name];
    if (value === undefined) return [];
    const name = form.fields.length === 1 ? '' : `${f.label.split(',')[0] ?? ''} `;
    const what = typeof value === 'number' ? figureText(f, value) : f.kind === 'choice' ? told(value) : value;
    return [`${name}${what} ${unitOf(f.quantity, f.unit ?? '')}`.trim()];
  });
  return parts.join('; ');
}
