import type { lineTexts } from '../line.ts';
import { percent } from '../texts.ts';
import { figure, type Params, type Text } from './figure.ts';

/** Nobody is told of less than none. */
function over(value: Params[string] | undefined): string {
  return figure(typeof value === 'number' ? Math.max(0, value) : value);
}

function standing(p: Params): string {
  return `${over(p['excessNtu'])} NTU über der Grundtrübung von ${over(p['backgroundNtu'])}`;
}

function detection(p: Params): string {
  return p['detectionNtu'] === undefined ? '' : ` (Nachweisgrenze ${figure(p['detectionNtu'])} NTU)`;
}

function flowed(p: Params): string {
  const reckoned =
    p['reckonedLpm'] === undefined ? '' : ` (kein Durchflussfühler: mit ${figure(p['reckonedLpm'])} l/min gerechnet)`;
  const since = p['sinceOpening'] === undefined ? 'dem letzten Durchgang' : 'dem Öffnen';
  return `${figure(p['litresSincePassL'])} l seit ${since}, ${figure(p['litresNeededL'])} l nötig${reckoned}`;
}

const rinse = (p: Params): string =>
  `${figure(p['turbidityNtu'])} NTU (Grenze ${figure(p['turbidityLimitNtu'])}), ${figure(p['conductivityUsCm'])} µS/cm (Grenze ${figure(p['conductivityLimitUsCm'])})`;

/** Sentences of the line room in German, by code. */
export const lineDe: Record<keyof typeof lineTexts, Text> = {
  idle: () => 'An keinem Heizkörper wird gearbeitet.',
  passing: () => 'Ein Durchgang läuft.',
  arriving: (p) =>
    `Der Schmutz dieses Durchgangs kommt gerade${p['ntu'] === undefined ? '' : `: ${figure(p['ntu'])} NTU jetzt`}.`,
  'not-answered': (p) => `Das Wasser des letzten Durchgangs ist noch nicht da: ${flowed(p)}.`,
  'no-water-yet': (p) =>
    `Noch kein Durchgang gemeldet; ${figure(p['litresSincePassL'])} l seit dem Öffnen, ${figure(p['litresNeededL'])} l nötig.`,
  'untold-to-come': (p) =>
    `Ein Puls kam, den kein Durchgang erklärt: Wurde geschüttelt, ist der Rest seines Wassers noch unterwegs; ${standing(p)}.`,
  'no-pass-yet': (p) => `${standing(p)}; noch kein Durchgang gemeldet.`,
  'over-limit': (p) => `${standing(p)}, noch nicht sicher unter ${figure(p['limitNtu'])}; ${flowed(p)}.`,
  'rest-to-come': (p) =>
    `${standing(p)}, aber etwa ${percent(p['restShare'])} des Gelösten kommen noch${p['restLimit'] === undefined ? '' : `; sicher unter ${percent(p['restLimit'])} müssen es sein`}.`,
  'echo-to-come': (p) =>
    `${standing(p)}, aber etwa ${figure(p['echoNtu'])} NTU, die durch die Kammern gingen, kommen in ${figure(p['echoInL'])} l wieder.`,
  rising: (p) => `${standing(p)}, doch der Messwert steigt: warten, bis er steht oder fällt.`,
  'seeing-again': (p) => `Die Messwerte sind eben erst zurück: ${standing(p)}.`,
  'clear-afterwards': () =>
    'Im Nachhinein: von da an blieb es unter seiner Grenze, bis der Heizkörper geschlossen wurde.',
  'not-clear-afterwards': () =>
    'Im Nachhinein: es blieb nicht unter seiner Grenze, bis der Heizkörper geschlossen wurde.',
  'risen-again': (p) => `Wieder gestiegen: ${standing(p)}, ${figure(p['limitNtu'])} ist die Grenze.`,
  clear: (p) => `Klar geworden bei ${standing(p)}; ${flowed(p)}.`,
  done: (p) =>
    `Der letzte Durchgang brachte nichts mehr, was sich zeigt${detection(p)}. Klar geworden bei ${standing(p)}; ${flowed(p)}.`,
  silence: (p) => `Der Messkoffer schweigt seit mehr als ${figure(p['silentS'])} s. Kabel und Stromversorgung prüfen.`,
  'turbidity-missing': () => 'Der Trübungsfühler sendet nichts. Seinen Stecker prüfen.',
  'over-range': () => 'Die Trübung liegt über dem Bereich ihres Fühlers. Warten, bis sie wieder darunter ist.',
  folded: () =>
    'Die Trübung lag über dem Bereich ihres Fühlers, der dann zu wenig zeigen kann. Warten, bis sie im Bereich gleichmäßig fällt.',
  restarted: () => 'Die Brücke war aus, und niemand sah, was vorbeifloss. Sie sieht einige Sekunden lang neu hin.',
  fouling: () =>
    'Die Trübung steigt geradlinig: ein Belag am Fenster des Fühlers oder eine steigende Grundtrübung. Fenster abwischen, nach den Kammern sehen.',
  'other-kit': () =>
    'Jetzt misst ein anderes Kit mit eigenem Nullpunkt. Einen Durchgang machen: Von da an zählen seine Messwerte.',
  stuck: () => 'Der Trübungswert bewegt sich gar nicht. Den Fühler prüfen.',
  dark: () => 'Der Trübungsfühler sieht kein Licht. Lampe und Fenster prüfen.',
  'flow-missing': () =>
    'Der Durchflussfühler sendet nichts, also sind die Liter seit dem Durchgang unbekannt. Seinen Stecker prüfen.',
  'no-flow': () => 'Kein Durchfluss: Nichts Neues erreicht den Fühler. Pumpe, Ventile und Schläuche prüfen.',
  'rinse-at-mains': (p) => `Auf dem Stand des Netzwassers: ${rinse(p)}.`,
  'rinse-turbidity-only': (p) =>
    `Die Trübung ist auf dem Stand des Netzwassers: ${figure(p['turbidityNtu'])} NTU (Grenze ${figure(p['turbidityLimitNtu'])}). Die Leitfähigkeit wird nicht gemessen: Eine Probe von Hand auf Reiniger prüfen.`,
  'rinse-seen-briefly': (p) => `Innerhalb der Grenzen, aber erst seit wenigen Sekunden zu sehen: ${rinse(p)}.`,
  'rinse-over-mains': (p) => `Noch nicht auf dem Stand des Netzwassers: ${rinse(p)}.`,
  'rinse-water-to-come': (p) =>
    `Ein weiterer Heizkörper wurde geöffnet: Sein Wasser kommt in etwa ${figure(p['waitL'])} l. Jetzt ${figure(p['turbidityNtu'])} NTU.`,
  'rinse-too-coarse': (p) =>
    `Der Trübungsfühler geht in Schritten von ${figure(p['stepNtu'])} NTU und kann ${figure(p['turbidityLimitNtu'])} NTU nicht zeigen. Eine Probe neben Netzwasser halten oder mit einem feineren Gerät messen.`,
  'rinse-mains-lost': () => 'Das Netzwasser ist ausgeblieben: Das Nachspülen ruht.',
};
