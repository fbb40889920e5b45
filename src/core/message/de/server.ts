import type { serverTexts } from '../server.ts';
import type { Text } from './figure.ts';

/** What a page beside the rig meets of the server; the office's pages are in English. */
type Shown = Exclude<keyof typeof serverTexts, `office-${string}`>;

/** Sentences of the HTTP server in German, by code. */
export const serverDe: Record<Shown, Text> = {
  'body-not-json': () => 'Was gesendet wurde, ist kein lesbares JSON.',
  'body-too-large': (p) =>
    `Was gesendet wurde, ist größer als ${p['limitBytes']} Byte, mehr wird hier nicht angenommen. Eine kürzere Notiz senden, oder ein kleineres Bild.`,
  'bad-field': (p) => `${p['where']}: ${p['what']}.`,
  'not-found': (p) => `Unter ${p['path']} gibt es nichts.`,
  'foreign-host': (p) =>
    `Diese Brücke antwortet nicht auf den Namen „${p['host']}“. Öffnen Sie sie unter der Adresse, die ihre Konsole zeigt.`,
  'foreign-origin': (p) =>
    `Eine Seite von ${p['origin']} darf hier nicht schreiben. Öffnen Sie die Seite der Brücke unter der Adresse, die ihre Konsole zeigt.`,
  'foreign-reader': (p) =>
    `Eine Seite von ${p['origin']} darf hier nichts laden. Öffnen Sie die Seite der Brücke unter der Adresse, die ihre Konsole zeigt.`,
  'not-paired': () =>
    'Dieses Gerät darf nur zusehen. Um daran zu arbeiten, tippen Sie den Code von der Konsole der Brücke ein.',
  'wrong-code': () =>
    'Das ist nicht der Code. Er steht auf der Konsole der Brücke; sehen Sie noch einmal nach und tippen Sie ihn neu.',
  'too-many-guesses': (p) =>
    `Zu viele falsche Codes. Warten Sie ${p['waitS']} s, dann tippen Sie den Code noch einmal.`,
  'too-many-pages': (p) =>
    `${p['limit']} Seiten folgen dieser Brücke schon. Schließen Sie eine unnötige und laden Sie diese neu.`,
  'too-much-asked': (p) =>
    `${p['path']} wurde von dieser Adresse zu oft verlangt. Warten Sie ${p['waitS']} s, dann versuchen Sie es noch einmal.`,
  'too-much-asked-by-all': (p) =>
    `${p['path']} wird von zu vielen Geräten verlangt, die nicht verbunden sind. Warten Sie ${p['waitS']} s, dann versuchen Sie es noch einmal; ein verbundenes Gerät wird nicht aufgehalten.`,
  'may-write-here': () => 'Das ist die Maschine der Brücke: Sie darf ohne Code schreiben.',
  'may-write-paired': () => 'Dieses Gerät ist verbunden und darf schreiben.',
  'pairing-not-kept': (p) =>
    `Die Verbindung ließ sich nicht in ${p['file']} behalten (${p['why']}). Dieses Gerät ist verbunden, bis die Brücke anhält; prüfen Sie, ob der Ordner beschreibbar ist.`,
  'server-fault': () =>
    'Die Brücke hat einen eigenen Fehler und ihn in ihr Protokoll geschrieben. Noch einmal versuchen; der Lauf selbst geht weiter.',
};
