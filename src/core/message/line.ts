import type { Texts } from './texts.ts';

/** Sentences of the line room, by code. */
export const lineTexts: Texts = {};
