import { plainBefore } from './plain-before.ts';
import { plainNotes, plainPatterns } from './plain-notes.ts';
import { plainRefused, refusedPatterns } from './plain-refused.ts';
import { plainRun } from './plain-run.ts';

/** Plain phrases of the bridge in German, by their English: titles, steps, cautions, labels. */
export const dePlain: Readonly<Record<string, string>> = {
  ...plainNotes,
  ...plainBefore,
  ...plainRun,
  ...plainRefused,
};

/** Phrases made with figures and names in them; `$1` is said anew where it is a phrase itself. */
export const dePatterns = [...plainPatterns, ...refusedPatterns];
