import type { hydraulicsTexts } from '../hydraulics.ts';
import { n, type Text } from './figure.ts';

const minutes = (s: string | number | undefined): string => `${n(Number(s ?? 0) / 60, 1)} min`;

/** Sentences of the hydraulics room in German, by code. */
export const hydraulicsDe: Record<keyof typeof hydraulicsTexts, Text> = {
  'flow-stopped': (p) =>
    `Der Durchfluss fiel von ${n(p['beforeLpm'], 1)} auf ${n(p['flowLpm'], 1)} l/min. Pumpe, Ventile und Schläuche auf einen Knick prüfen.`,
  'rinse-flow-stopped': (p) =>
    `Der Durchfluss fiel von ${n(p['beforeLpm'], 1)} auf ${n(p['flowLpm'], 1)} l/min. Das Nachspülen ruht; Netzhahn und Schläuche prüfen.`,
  'flow-back': (p) => `Der Durchfluss ist nach ${n(p['lastedS'], 0)} s zurück: ${n(p['flowLpm'], 1)} l/min.`,
  'valve-opened': (p) =>
    `Der Durchfluss stieg von ${n(p['beforeLpm'], 1)} auf ${n(p['afterLpm'], 1)} l/min, und nichts Gemeldetes sagt warum. Wurde ein Ventil geöffnet oder die Pumpe schneller gestellt?`,
  'valve-shut': (p) =>
    `Der Durchfluss fiel von ${n(p['beforeLpm'], 1)} auf ${n(p['afterLpm'], 1)} l/min, und nichts Gemeldetes sagt warum. Wurde ein Ventil geschlossen oder die Pumpe langsamer gestellt?`,
  'two-open': (p) =>
    `Der Durchfluss ist ${n(p['flowLpm'], 1)} l/min; dieser Heizkörper allein sollte etwa ${n(p['aloneLpm'], 1)} l/min geben. Mehr als einer scheint offen: die anderen schließen (oder läuft die Pumpe schneller?).`,
  'one-open': (p) => `Der Durchfluss ist wieder ${n(p['flowLpm'], 1)} l/min: dieser Heizkörper allein.`,
  leak: (p) =>
    `Der Druck fiel um ${n(p['fallBar'], 2)} bar in ${minutes(p['overS'])}, schneller als die Abkühlung erklärt: mindestens ${n(p['barPerMin'], 3)} bar/min${
      p['mlPerMin'] === undefined ? '' : ` (${n(p['mlPerMin'], 0)} ml/min)`
    }. Anhalten und nach einem Leck sehen.`,
  'filling-loop-open': (p) =>
    `Der Druck stieg um ${n(p['climbBar'], 2)} bar in ${minutes(p['overS'])}, und das Heizen erklärt es nicht. Den Füllschlauch schließen.`,
  'mains-lost': (p) =>
    `Der Durchfluss fiel von ${n(p['beforeLpm'], 1)} auf ${n(p['flowLpm'], 1)} l/min und der Druck von ${n(p['beforeBar'], 1)} auf ${n(p['pressureBar'], 1)} bar: Das Netzwasser ist weg. Das Nachspülen ruht; die Zuleitung prüfen.`,
  'mains-back': (p) =>
    `Das Netzwasser ist nach ${n(p['lastedS'], 0)} s zurück: ${n(p['flowLpm'], 1)} l/min. Das Nachspülen geht weiter.`,
  'window-fouling': (p) =>
    `Was zwischen den Pulsen steht, stieg stetig von ${n(p['beforeNtu'], 0)} auf ${n(p['backgroundNtu'], 0)} NTU, ${n(p['ntuPerMin'], 1)} NTU in der Minute: ein Belag auf dem Fenster des Fühlers, oder eine Grundtrübung, die steigt (die Fangkammer füllt sich); was von beiden, sagt die Anzeige nicht. Fenster abwischen; nach der Kammer sehen.`,
  'chamber-full': (p) =>
    `Der Durchfluss sank von ${n(p['beforeLpm'], 1)} auf ${n(p['flowLpm'], 1)} l/min, während die Grundtrübung von ${n(p['beforeNtu'], 0)} auf ${n(p['backgroundNtu'], 0)} NTU stieg: Die Fangkammer ist voll. Jetzt leeren.`,
};
