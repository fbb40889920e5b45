import { plainBefore } from './plain-before.ts';
import { plainNotes } from './plain-notes.ts';
import { plainRun } from './plain-run.ts';

/** Plain phrases of the bridge in German, by their English: titles, steps, cautions, labels. */
export const dePlain: Readonly<Record<string, string>> = { ...plainNotes, ...plainBefore, ...plainRun };
