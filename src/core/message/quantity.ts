import type { Texts } from './texts.ts';

/** Sentences about figures of any room. */
export const quantityTexts = {
  'out-of-range': (p) =>
    `${p['what']}: found ${p['found']}, possible is ${p['low']} to ${p['high']}${p['unit'] ? ` ${p['unit']}` : ''}. Check the figure and its unit.`,
} satisfies Texts;
