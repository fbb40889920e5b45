import { type EmitterOutcome, emitterOutcomes } from '../../core/audit/outcome.ts';
import { moment } from '../fact.ts';
import type { Gathered } from '../gather.ts';
import { sentence } from '../in-units.ts';

export interface EmitterRow extends EmitterOutcome {
  /** One sentence with figures, or the reason that was given; '' when there is nothing to say. */
  readonly reason: string;
}

/** Every emitter of the system and every one that was worked on, in the order of the context. */
export function emitterRows(g: Gathered): EmitterRow[] {
  return emitterOutcomes(g).map((e) => ({ ...e, reason: reasonOf(g, e) }));
}

function reasonOf(g: Gathered, { skip, visits }: EmitterOutcome): string {
  if (skip) return `Reason: ${skip.note || 'none was given'}. At ${moment(skip.timeS)}.`;
  const reason = visits.at(-1)?.visit.verdict.reason;
  return reason ? sentence(g, { code: reason.code, params: finite(reason.figures) }) : '';
}

function finite(figures: Readonly<Record<string, number>>): Record<string, number> {
  return Object.fromEntries(Object.entries(figures).filter(([, value]) => Number.isFinite(value)));
}

export const resultWords: Readonly<Record<EmitterRow['result'], string>> = {
  done: 'Done',
  clear: 'Clear, not done',
  'not-clear': 'Not clear',
  'cannot-tell': 'Cannot tell',
  skipped: 'Skipped',
  'not-visited': 'Not worked on',
};
