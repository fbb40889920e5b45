import type { Texts } from './texts.ts';

/** Sentences of the circuit room and of the survey, by code. */
export const circuitTexts = {
  'tube-unknown': (p) =>
    `There is no tube "${p['found']}". Choose one of ${p['known']}, or give its inner bore in millimetres.`,
  'emitter-size-missing': (p) =>
    `An emitter of type ${p['type']} needs ${p['needs']}, or its water content in litres from its plate or sheet.`,
  'order-top-floor': () => 'Top floor first: what is shaken loose sinks (common practice).',
  'order-furthest': () =>
    'Longest way to the rig first, so that its dirt crosses the shared pipes before the nearer ones are cleaned (common practice).',
  'order-nearer': () => 'Nearer to the rig than the one before (common practice).',
  'order-as-listed': () => 'Its way to the rig is not known, so it keeps its place in the list.',
  'survey-no-emitter': () => 'The survey names no emitter. Add at least one.',
  'survey-doubled': (p) =>
    `"${p['id']}" is used twice in the survey. Give each emitter, run and other part its own id.`,
  'survey-run-unknown': (p) => `The survey has no pipe run "${p['run']}". Add it, or name one that is there.`,
  'survey-run-circle': (p) =>
    `These runs lead round in a circle and never to the rig: ${p['runs']}. Mend "towards" in one.`,
  'survey-table': (p) =>
    `Line ${p['line']}${p['column'] ? `, column ${p['column']}` : ''}: found ${p['found'] === '' ? 'nothing' : `"${p['found']}"`}, expected ${p['expected']}.`,
} satisfies Texts;
