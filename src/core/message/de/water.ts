import type { chemistryTexts } from '../chemistry.ts';
import type { circuitTexts } from '../circuit.ts';
import type { quantityTexts } from '../quantity.ts';
import { asFigured, n, type Text } from './figure.ts';

/** Sentences of water and chemistry in German, by code. */
export const chemistryDe: Record<keyof typeof chemistryTexts, Text> = {
  'mains-not-measured': () =>
    'Die Leitfähigkeit des Netzwassers ist null oder fehlt, also gibt es nichts zum Vergleich. Das Netzwasser messen, oder den Wert eintippen.',
  'rate-no-number': (p) =>
    `„${asFigured(p['found'])}“ ist keine Etikettmenge. Eine Zahl über null und ihre Einheit eintippen, eine von ${p['units']}.`,
  'rate-unit-unknown': (p) =>
    `Die Einheit der Menge ist nicht bekannt (${p['found']}). Eine von ${p['units']} benutzen.`,
  'rate-wrong-kind': (p) => `„${p['found']}“ ist ${p['meant']}.`,
  'rate-implausible': (p) =>
    `${asFigured(p['amount'])} ${p['unit']} wären ${n(p['percent'], 3)} % der Anlage, das meint kein Etikett (0,05 bis 5 %).${
      p['meant'] ? ` War ${asFigured(p['meant'])} gemeint?` : ''
    } Die Einheit auf dem Etikett noch einmal lesen.`,
  'dilution-step-small': (p) =>
    `Der Anstieg der Leitfähigkeit ${p['where'] === 'jug' ? 'im Krug' : 'in der Anlage'} ist ${n(p['step'], 0)} µS/cm, auf ${n(p['u'], 0)} bekannt: zu wenig, um danach ein Volumen zu messen. Das Volumen aus dem Füllen oder der Aufnahme nehmen.`,
  'dilution-no-dose': () => 'Zugabe und Krug brauchen mehr als null vom Mittel. Eintippen, was hineinkam.',
  'day-unreadable': (p) => `„${p['found']}“ ist kein Tag. Als Jahr-Monat-Tag schreiben, etwa 2026-03-31.`,
  'mains-dirtier': (p) =>
    `Die Netzprobe zeigt mehr Schmutz als die Anlage (${p['items']}). Wurden die Proben vertauscht? Noch einmal messen, oder sagen, warum.`,
  'cleaner-hardly-conducts': () =>
    'Dieser Reiniger ändert die Leitfähigkeit kaum, also lassen sich danach weder „gemischt“ noch der Rest sagen. Die Einwirkzeit gilt.',
};

/** Sentences of the circuit room and of the survey in German, by code. */
export const circuitDe: Record<keyof typeof circuitTexts, Text> = {
  'tube-unknown': (p) =>
    `Ein Rohr „${p['found']}“ gibt es nicht. Eines von ${p['known']} wählen, oder seinen Innendurchmesser in Millimetern angeben.`,
  'emitter-size-missing': (p) =>
    `Ein Heizkörper der Art ${p['type']} braucht ${p['needs']}, oder seinen Wasserinhalt in Litern von Schild oder Blatt.`,
  'order-top-floor': () => 'Oberstes Geschoss zuerst: Was losgerüttelt wird, sinkt (üblich).',
  'order-furthest': () =>
    'Der weiteste Weg zum Gerät zuerst, damit sein Schmutz durch die gemeinsamen Rohre geht, bevor die näheren gereinigt sind (üblich).',
  'order-nearer': () => 'Näher am Gerät als der davor (üblich).',
  'order-as-listed': () => 'Sein Weg zum Gerät ist nicht bekannt, also behält er seinen Platz in der Liste.',
  'survey-no-emitter': () => 'Die Aufnahme nennt keinen Heizkörper. Mindestens einen hinzufügen.',
  'survey-doubled': (p) =>
    `„${p['id']}“ steht zweimal in der Aufnahme. Jedem Heizkörper, jeder Rohrstrecke und jedem anderen Teil eine eigene Kennung geben.`,
  'survey-run-unknown': (p) =>
    `Die Aufnahme hat keine Rohrstrecke „${p['run']}“. Sie hinzufügen, oder eine nennen, die es gibt.`,
  'survey-run-circle': (p) =>
    `Diese Strecken führen im Kreis und nie zum Gerät: ${p['runs']}. Bei einer „towards“ berichtigen.`,
  'survey-table': (p) =>
    `Zeile ${p['line']}${p['column'] ? `, Spalte ${p['column']}` : ''}: gefunden ${p['found'] === '' ? 'nichts' : `„${p['found']}“`}, erwartet ${p['expected']}.`,
};

/** Sentences about figures of any room in German. */
export const quantityDe: Record<keyof typeof quantityTexts, Text> = {
  'out-of-range': (p) =>
    `${p['what']}: gefunden ${asFigured(p['found'])}, möglich ist ${asFigured(p['low'])} bis ${asFigured(p['high'])}${p['unit'] ? ` ${p['unit']}` : ''}. Zahl und Einheit prüfen.`,
};
