import type { Texts } from './texts.ts';

/** Which of several files it is, where that is known. */
const named = (p: Readonly<Record<string, string | number>>): string => (p['file'] ? ` ${p['file']}` : '');

/** Sentences of mapping files and of kits read through them, by code: where, what was found, what is expected. */
export const mappingTexts = {
  'mapping-json': (p) => `The mapping file${named(p)} is no JSON: ${p['what']}.`,
  'mapping-value': (p) => `In the mapping file${named(p)}, ${p['path']} is ${p['found']}; expected: ${p['expected']}.`,
  'mapping-unknown': (p) =>
    `In the mapping file${named(p)}, ${p['path']} is not known${p['nearest'] ? `; did you mean ${p['nearest']}` : ''}. Known here: ${p['known']}.`,
  'mapping-serial': (p) =>
    `The mapping${named(p)} reads lines of a serial port: it has no topics. Start with --serial, or give each value its topic.`,
  'mapping-topics': (p) =>
    `The mapping${named(p)} reads topics of a broker. Start with --mqtt or --broker, or leave the topics out and start with --serial.`,
  'mapping-columns': (p) =>
    `A line has ${p['found']} columns where ${p['expected']} are expected (it begins ${p['start']}) and was skipped. Many of these: look at separator and columns in the mapping file.`,
  'mapping-json-line': (p) =>
    `A line or message of ${p['bytes']} bytes is no JSON (it begins ${p['start']}) and was skipped. Is form right in the mapping file?`,
  'mapping-nothing': (p) =>
    `Nothing that the mapping names (${p['channels']}) stands in ${p['start']}; it was skipped. Look at the places in the mapping file.`,
  'mapping-number': (p) => `${p['channel']} is "${p['found']}", which is no number, and was not used.`,
} satisfies Texts;
