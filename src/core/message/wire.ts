import type { Texts } from './texts.ts';

/** Sentences of the wire room, by code. */
export const wireTexts: Texts = {};
