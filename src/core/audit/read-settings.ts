import { causeOf } from '../message/cause.ts';
import { z } from 'zod';
import { nearest } from '../message/nearest.ts';
import { Problem } from '../message/problem.ts';
import { figureList } from './figures.ts';
import { rules } from './rules.ts';
import { type AuditSettings, auditSettingsSchema } from './settings.ts';

/**
 * The rules file of a firm, checked against the rules and figures that there are. Throws Problem: what is wrong, where
 * in the file, what to do. @param file its name, for the message
 */
export function readAuditSettings(text: string, file: string): AuditSettings {
  let raw: unknown;
  try {
    raw = JSON.parse(text);
  } catch (error) {
    const detail = causeOf(error);
    throw new Problem('audit.rules-json', { file, detail });
  }
  return checkAuditSettings(raw, file);
}

/** The same for what came as JSON already. */
export function checkAuditSettings(raw: unknown, file: string): AuditSettings {
  const parsed = auditSettingsSchema.safeParse(raw);
  if (!parsed.success) {
    const [issue] = parsed.error.issues;
    const where = issue && issue.path.length > 0 ? issue.path.join('.') : 'the whole';
    throw new Problem('audit.rules-form', { file, where, detail: issue ? plain(issue) : 'not as expected' });
  }
  for (const [id, tuned] of Object.entries(parsed.data.rules)) checkTuned(id, tuned.thresholds, file);
  const ids = new Set(rules.map((r) => r.id));
  for (const own of parsed.data.own) {
    if (ids.has(own.id)) throw new Problem('audit.rules-own-id', { file, id: own.id });
    ids.add(own.id);
    if (figureList[own.figure] !== undefined) continue;
    const hint = hintOf(own.figure, Object.keys(figureList));
    throw new Problem('audit.rules-figure', { file, id: own.id, figure: own.figure, hint });
  }
  return parsed.data;
}

function checkTuned(id: string, thresholds: Readonly<Record<string, number>>, file: string): void {
  const known = rules.find((r) => r.id === id);
  if (!known) {
    const hint = hintOf(
      id,
      rules.map((r) => r.id),
    );
    throw new Problem('audit.rules-unknown', { file, id, hint });
  }
  for (const [name, value] of Object.entries(thresholds)) {
    const threshold = known.thresholds[name];
    if (!threshold) {
      const names = Object.keys(known.thresholds).join(', ') || 'none';
      throw new Problem('audit.rules-threshold', { file, id, name, known: names });
    }
    const { least, most, unit } = threshold;
    if (value < least || value > most)
      throw new Problem('audit.rules-range', { file, id, name, value, least, most, unit });
  }
}

function plain(issue: z.core.$ZodIssue): string {
  return issue.code === 'unrecognized_keys' ? `"${issue.keys.join('", "')}" is not known here` : issue.message;
}

function hintOf(word: string, names: readonly string[]): string {
  const near = nearest(word, names);
  return near === null ? '' : ` Did you mean "${near}"?`;
}
