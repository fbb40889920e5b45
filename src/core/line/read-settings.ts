import { causeOf } from '../message/cause.ts';
import { nearest } from '../message/nearest.ts';
import { Problem } from '../message/problem.ts';
import { type LineSettings, lineSettingsSchema } from './settings.ts';

/**
 * Settings of the verdict from a file: those that differ, by their names. Throws Problem: what is wrong, where, what to do.
 * @param file its name, for the message
 */
export function readLineSettings(text: string, file: string): Partial<LineSettings> {
  let raw: unknown;
  try {
    raw = JSON.parse(text);
  } catch (error) {
    throw new Problem('settings-json', { file, detail: causeOf(error) });
  }
  if (typeof raw !== 'object' || raw === null || Array.isArray(raw)) throw new Problem('settings-form', { file });
  const { shape } = lineSettingsSchema;
  const names = Object.keys(shape);
  for (const [name, value] of Object.entries(raw)) {
    if (!names.includes(name)) {
      const meant = nearest(name, names);
      throw new Problem('settings-unknown', { file, name, hint: meant ? ` Did you mean "${meant}"?` : '' });
    }
    const { error } = lineSettingsSchema.safeParse({ [name]: value });
    const [issue] = error?.issues ?? [];
    if (issue) throw new Problem('settings-range', { file, name, found: JSON.stringify(value), detail: issue.message });
  }
  return raw;
}
