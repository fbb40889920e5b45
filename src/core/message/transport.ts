import type { Texts } from './texts.ts';

/** Sentences of the transport room, by code. */
export const transportTexts: Texts = {};
