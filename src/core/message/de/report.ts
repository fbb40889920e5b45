import type { recordingTexts } from '../recording.ts';
import type { reportTexts } from '../report.ts';
import type { Params, Text } from './figure.ts';

const at = (p: Params): string => (p['where'] === undefined || p['where'] === '' ? '' : `, ${p['where']}`);

const sealedBy = (p: Params): string =>
  `Der letzte Eintrag der Kette sagt, dass ${p['by'] || 'jemand'} dieses Protokoll versiegelt hat${p['key'] ? `, mit dem Schlüssel ${p['key']}` : ''}.`;

/** Of the seal and the photos, what the page of the hand-over meets; what only the command line says stays English. */
type Shown =
  | Exclude<Extract<keyof typeof reportTexts, `seal-${string}`>, 'seal-known-keys'>
  | Extract<keyof typeof recordingTexts, `photo-${string}`>;

/** Sentences of the seal and of photos in German, by code. */
export const reportDe: Record<Shown, Text> = {
  'seal-key-open': (p) =>
    `Der Schlüssel zum Versiegeln ${p['path']} ist für andere Benutzer lesbar (Rechte ${p['mode']}), ein Siegel damit würde wenig beweisen. Die Rechte auf 600 setzen; haben ihn andere vielleicht gelesen, mit limpid seal --new-key einen neuen machen.`,
  'seal-key-unusable': (p) =>
    `Der Schlüssel zum Versiegeln ${p['path']} ist nicht zu gebrauchen (${p['detail']}). Aus einer Sicherung zurücklegen; oder wegräumen, dann macht das nächste Siegel einen neuen.`,
  'seal-already': (p) =>
    `Der Lauf ${p['runId']} ist schon versiegelt (${p['at']}). Ein versiegeltes Protokoll ändert sich nie; eine Bemerkung daneben schreiben, oder einen neuen Lauf beginnen.`,
  'seal-not-ended': (p) =>
    `Der Lauf ${p['runId']} ist noch im Gang (Abschnitt „${p['stage']}“), darum wurde er nicht versiegelt. Erst übergeben.`,
  'seal-none': (p) =>
    `Der Lauf ${p['runId']} ist nicht versiegelt, also nimmt er Notizen als Ereignisse und keine Bemerkungen daneben.`,
  'seal-no-samples': (p) => `Der Lauf ${p['runId']} enthält keinen Messwert, also gibt es nichts zu versiegeln.`,
  'seal-run-closed': (p) =>
    `Der Lauf ${p['runId']} ist versiegelt und nimmt nichts mehr an. Eine Bemerkung daneben schreiben, oder einen neuen Lauf beginnen.`,
  'seal-comment-empty': () => 'Die Bemerkung ist leer. Etwas sagen, oder sie weglassen.',
  'seal-file-unreadable': (p) =>
    `seal.json, Zeile 1: nicht so, wie ein Siegel geschrieben ist (${p['detail']}). Die Aufzeichnung noch einmal aus der Ausfuhr nehmen.`,
  'seal-signature': (p) =>
    `seal.json, Zeile 1: Die Unterschrift passt nicht zu dem, was das Siegel sagt. Das Siegel wurde geändert, oder es ist nicht vom Schlüssel ${p['fingerprint']}.`,
  'seal-file-changed': (p) => `${p['file']}${at(p)}: geändert, seit es versiegelt wurde.`,
  'seal-file-gone': (p) => `${p['file']} wurde versiegelt und fehlt jetzt.`,
  'seal-head': (p) =>
    `seal.json: Es versiegelt den Eintrag ${p['expected']}, aber chain.jsonl endet mit ${p['found']}.`,
  'seal-mark': () => 'seal.json und chain.jsonl sagen Verschiedenes darüber, ob das Wasser simuliert war.',
  'seal-gone': (p) => `${sealedBy(p)} Das Siegel ist fort: seal.json ist nicht da.`,
  'seal-not-here': (p) =>
    `${sealedBy(p)} Das Siegel ist nicht da: Es wurde weggenommen, es ist noch nicht gekommen, oder das Versiegeln wurde unterbrochen; dann beendet es limpid seal, unter diesem Namen und mit diesem Schlüssel.`,
  'seal-other-key': (p) =>
    `seal.json: Das Siegel ist vom Schlüssel ${p['found']} und nicht von dem, den das Protokoll nennt. ${sealedBy(p)}`,
  'seal-by-other': (p) =>
    `${sealedBy(p)} Unter einem anderen Namen oder mit einem anderen Schlüssel wird es nicht noch einmal versiegelt. Wurde das Versiegeln unterbrochen, versiegeln Sie es unter diesem Namen und mit diesem Schlüssel; sonst holen Sie die versiegelten Dateien aus einer Sicherung oder einem Export zurück.`,
  'seal-uncovered': (p) => `${p['file']} ist vom Siegel nicht erfasst.`,
  'photo-kind': (p) =>
    `Das ist kein Foto, das diese Brücke behalten kann: Es beginnt mit ${p['begins']}. JPEG oder PNG senden; die Seite macht eines aus allem, was die Kamera gibt.`,
  'photo-large': (p) => `Das Foto hat ${p['bytes']} Byte; ${p['limitBytes']} sind das Meiste. Kleiner aufnehmen.`,
};
