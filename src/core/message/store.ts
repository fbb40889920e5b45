import type { Texts } from './texts.ts';

/** Sentences of the store room, by code. */
export const storeTexts: Texts = {};
