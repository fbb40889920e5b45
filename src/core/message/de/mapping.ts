import type { mappingTexts } from '../mapping.ts';
import type { Params, Text } from './figure.ts';

/** Which of several files it is, where that is known. */
const named = (p: Params): string => (p['file'] ? ` ${p['file']}` : '');

/** Sentences of mapping files and of kits read through them in German, by code. */
export const mappingDe: Record<keyof typeof mappingTexts, Text> = {
  'mapping-json': (p) => `Die Zuordnungsdatei${named(p)} ist kein JSON: ${p['what']}.`,
  'mapping-value': (p) =>
    `In der Zuordnungsdatei${named(p)} ist ${p['path']} ${p['found']}; erwartet: ${p['expected']}.`,
  'mapping-unknown': (p) =>
    `In der Zuordnungsdatei${named(p)} ist ${p['path']} nicht bekannt${p['nearest'] ? `; war ${p['nearest']} gemeint` : ''}. Bekannt ist hier: ${p['known']}.`,
  'mapping-serial': (p) =>
    `Die Zuordnung${named(p)} liest Zeilen einer seriellen Schnittstelle: Sie hat keine Topics. Mit --serial starten, oder jedem Wert sein Topic geben.`,
  'mapping-topics': (p) =>
    `Die Zuordnung${named(p)} liest Topics eines Brokers. Mit --mqtt oder --broker starten, oder die Topics weglassen und mit --serial starten.`,
  'mapping-columns': (p) =>
    `Eine Zeile hat ${p['found']} Spalten, erwartet sind ${p['expected']} (sie beginnt ${p['start']}), und wurde übergangen. Bei vielen davon: Trennzeichen und Spalten in der Zuordnungsdatei ansehen.`,
  'mapping-json-line': (p) =>
    `Eine Zeile oder Nachricht von ${p['bytes']} Byte ist kein JSON (sie beginnt ${p['start']}) und wurde übergangen. Stimmt form in der Zuordnungsdatei?`,
  'mapping-nothing': (p) =>
    `Nichts, was die Zuordnung nennt (${p['channels']}), steht in ${p['start']}; es wurde übergangen. Die Stellen in der Zuordnungsdatei ansehen.`,
  'mapping-number': (p) => `${p['channel']} ist „${p['found']}“, das ist keine Zahl, und wurde nicht benutzt.`,
};
