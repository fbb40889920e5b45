import type { transportTexts } from '../transport.ts';
import type { Params, Text } from './figure.ts';

/** A bridge comes back to a link by itself; a command that looks once (`once`) does not. */
export const again = (p: Params): string => (p['once'] === undefined ? ' Es wird wieder versucht.' : '');

/** The most frequent reason of a reader that reads nothing, and how the last line began where that does not say it. */
export function refused(p: Params): string {
  const [why, line] = [String(p['why']), String(p['line'] ?? '')];
  return line === '' || why.includes(line)
    ? `Am häufigsten: ${why}`
    : `Am häufigsten: ${why} Die letzte begann „${line}“.`;
}

/** Sentences of the transport room in German, by code. */
export const transportDe: Record<keyof typeof transportTexts, Text> = {
  'transport-no-port': (p) =>
    `Eine Schnittstelle ${p['port']} gibt es nicht. Den Messkoffer einstecken; eine laufende Brücke nimmt ihn von selbst auf. Vorhanden sind: ${p['others']}.`,
  'transport-no-permission': (p) =>
    `Sie dürfen ${p['port']} nicht öffnen; sie gehört der Gruppe ${p['group']}. Ausführen: sudo usermod -aG ${p['group']} $USER - dann ab- und wieder anmelden und die Brücke neu starten.`,
  'transport-busy': (p) =>
    `${p['port']} wird von einem anderen Programm benutzt. Es schließen (einen Monitor, eine zweite Brücke); eine laufende Brücke nimmt die Schnittstelle dann von selbst.`,
  'transport-open': (p) => `${p['port']} ließ sich nicht öffnen: ${p['what']}.${again(p)}`,
  'transport-unplugged': (p) =>
    `Das Kabel des Messkoffers ist heraus (${p['port']}). Wieder einstecken; er wird von selbst aufgenommen.`,
  'transport-silent': (p) =>
    `${p['port']} ist offen, aber seit ${p['seconds']} s kam nichts. Hat der Messkoffer Strom? Führt das Kabel Daten (manche laden nur)? Ist das seine Schnittstelle?`,
  'transport-wrong-baud': (p) =>
    `${p['port']} gibt Bytes, aber mit ${p['baud']} Baud keinen Text. Die Geschwindigkeit der Firmware einstellen; stimmt sie, die Masseleitung prüfen.`,
  'transport-no-pack': (p) =>
    `${p['port']} gibt Text, aber in ${p['bytes']} Byte kein einziges gutes Paket. ${
      p['why'] === undefined
        ? 'Keine Zeile kam zu ihrem Ende: Ist das der Messkoffer, und setzt seine Firmware hinter jedes Paket einen Zeilenvorschub (docs/wire.md)?'
        : refused(p)
    }`,
  'transport-raw-log': (p) =>
    `Das Rohprotokoll in ${p['folder']} wird nicht mehr geschrieben: ${p['what']}. Die Verbindung geht weiter. Platz auf der Platte schaffen, dann die Brücke neu starten.`,
  'transport-replay-failed': (p) => `Die Wiedergabe von ${p['source']} ist stehen geblieben: ${p['what']}.`,
};
