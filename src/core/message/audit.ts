import type { Texts } from './texts.ts';

type Value = string | number | undefined;

const n = (v: Value, digits = 0): string => Number(v ?? Number.NaN).toFixed(digits);
const times = (v: Value, one: string): string =>
  `${n(v)} ${one}${Number(v) === 1 ? '' : one.endsWith('s') ? 'es' : 's'}`;
/** Seconds as minutes where there are several. */
const lasting = (v: Value): string => (Number(v) < 120 ? `${n(v)} s` : `${n(Number(v) / 60)} min`);

/** Sentences of the audit, by code: what was found, and why a rule could not be held to a run. */
export const auditTexts: Texts = {
  'audit.left-before-clear': (p) =>
    `${p['emitter']} was left after ${lasting(p['heldS'])} and ${times(p['passes'], 'pass')}; the line stood at "${p['state']}".`,
  'audit.never-visited': (p) => `${p['emitter']} was neither worked on nor skipped with a reason.`,

  'audit.no-visit': () => 'No emitter was opened alone in this record.',
  'audit.under-way': () => 'This part of the run is still under way.',
  'audit.not-reached': () => 'The run has not come so far.',
  'audit.part-recorded': () => 'This record follows the work on the emitters and the rinse only.',
  'audit.stage-skipped-why': (p) => `The stage was left out. Reason: ${p['why']}.`,
};
