import type { Texts } from './texts.ts';

/** Sentences of the run room, by code. */
export const runTexts: Texts = {};
