import type { Texts } from './texts.ts';

/** Sentences of the recording room, by code. */
export const recordingTexts: Texts = {};
