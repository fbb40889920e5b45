import type { recordingTexts } from '../recording.ts';
import type { reportTexts } from '../report.ts';
import type { Params, Text } from './figure.ts';

const at = (p: Params): string => (p['where'] === undefined || p['where'] === '' ? '' : `, ${p['where']}`);

const onDay = (p: Params): string => (p['at'] ? ` am ${String(p['at']).slice(0, 16).replace('T', ' ')} UTC` : '');
const withKey = (p: Params): string => (p['key'] ? ` mit dem Schlüssel ${p['key']}` : '');

const again = 'Noch einmal aus einer Ausfuhr oder einer Sicherung nehmen.';

const sealedBy = (p: Params): string =>
  `Der letzte Eintrag der Kette sagt, dass ${p['by'] || 'jemand'} dieses Protokoll${onDay(p)}${withKey(p)} versiegelt hat.`;

/** Of the seal and the photos, what the page of the hand-over meets; what only the command line says stays English. */
type Shown =
  | Exclude<Extract<keyof typeof reportTexts, `seal-${string}`>, 'seal-known-keys'>
  | Extract<keyof typeof recordingTexts, `photo-${string}`>;

/** Sentences of the seal and of photos in German, by code. */
export const reportDe: Record<Shown, Text> = {
  'seal-key-open': (p) =>
    `Der Schlüssel zum Versiegeln ${p['path']} ist für andere Benutzer lesbar (Rechte ${p['mode']}), ein Siegel damit würde wenig beweisen. Die Rechte auf 600 setzen; haben ihn andere vielleicht gelesen, mit limpid seal --new-key einen neuen machen.`,
  'seal-key-unusable': (p) =>
    `Der Schlüssel zum Versiegeln ${p['path']} ist nicht zu gebrauchen (${p['detail']}). Gehört er einem anderen Benutzer, ihn dem geben, der Limpid ausführt; sonst aus einer Sicherung zurücklegen, oder wegräumen, dann macht das nächste Siegel einen neuen.`,
  'seal-key-not-made': (p) =>
    `Ein neuer Schlüssel zum Versiegeln kann nicht nach ${p['path']} geschrieben werden (${p['detail']}), also wurde nichts versiegelt. Rechte und Platz auf der Platte prüfen, dann noch einmal versiegeln.`,
  'seal-already': (p) =>
    `Der Lauf ${p['runId']} ist schon versiegelt (${p['at']}). Ein versiegeltes Protokoll ändert sich nie; eine Bemerkung daneben schreiben, oder einen neuen Lauf beginnen.`,
  'seal-not-ended': (p) =>
    `Der Lauf ${p['runId']} ist noch im Gang (Abschnitt „${p['stage']}“), darum wurde er nicht versiegelt. Erst übergeben.`,
  'seal-none': (p) =>
    `Vom Lauf ${p['runId']} ist kein versiegeltes Protokoll da, also kann keine Bemerkung daneben stehen: eine Notiz im Lauf selbst schreiben, oder ihn erst versiegeln.`,
  'seal-no-samples': (p) => `Der Lauf ${p['runId']} enthält keinen Messwert, also gibt es nichts zu versiegeln.`,
  'seal-run-closed': (p) =>
    `Der Lauf ${p['runId']} ist versiegelt und nimmt nichts mehr an. Eine Bemerkung daneben schreiben, oder einen neuen Lauf beginnen.`,
  'seal-comment-empty': () => 'Die Bemerkung ist leer. Etwas sagen, oder sie weglassen.',
  'seal-file-unreadable': (p) =>
    `seal.json, Zeile 1: nicht so, wie ein Siegel geschrieben ist (${p['detail']}). ${again}`,
  'seal-signature': (p) =>
    `seal.json, Zeile 1: Die Unterschrift passt nicht zu dem, was das Siegel sagt. Das Siegel wurde geändert, oder es ist nicht vom Schlüssel ${p['fingerprint']}. ${again}`,
  'seal-file-changed': (p) => `${p['file']}${at(p)}: geändert, seit es versiegelt wurde. ${again}`,
  'seal-file-gone': (p) => `${p['file']} wurde versiegelt und fehlt jetzt. ${again}`,
  'seal-head': (p) =>
    `seal.json: Es versiegelt den Eintrag ${p['expected']}, aber chain.jsonl endet mit ${p['found']}. ${again}`,
  'seal-mark': () => `seal.json und chain.jsonl sagen Verschiedenes darüber, ob das Wasser simuliert war. ${again}`,
  'seal-gone': (p) => `${sealedBy(p)} Das Siegel ist fort: seal.json ist nicht da. ${again}`,
  'seal-not-here': (p) =>
    `${sealedBy(p)} Die versiegelte Kopie ist nicht da: Sie wurde weggenommen, oder sie ist noch nicht gekommen. Eine Ausfuhr des Laufs wieder einlesen (limpid import), oder den Ordner „sealed“ aus einer Sicherung zurücklegen; bis dahin kann niemand dieses Protokoll gegen das Unterschriebene prüfen.`,
  'seal-cut-short': (p) =>
    `${sealedBy(p)} Aber dieses Versiegeln wurde unterbrochen, bevor etwas unterschrieben war. Unter diesem Namen noch einmal versiegeln: limpid seal ${p['runId']} --by "${p['by'] || 'NAME'}". Wurde der Schlüssel inzwischen ersetzt, sagt es der neue Eintrag.`,
  'seal-first-cut-short': (p) =>
    `Ein Versiegeln durch ${p['by'] || 'jemanden'}${onDay(p)}${withKey(p)} wurde unterbrochen, bevor etwas unterschrieben war.`,
  'seal-other-key': (p) =>
    `seal.json: Das Siegel ist vom Schlüssel ${p['found']} und nicht von dem, den das Protokoll nennt. ${sealedBy(p)} Jemand anderes hat es neu unterschrieben: aus einer früheren Ausfuhr oder Sicherung nehmen.`,
  'seal-by-other': (p) =>
    `${sealedBy(p)} Unter einem anderen Namen oder mit einem anderen Schlüssel wird es nicht noch einmal versiegelt; der Schlüssel hier ist ${p['own']}. Die versiegelte Kopie zurückholen: eine Ausfuhr des Laufs einlesen (limpid import), oder den Ordner „sealed“ aus einer Sicherung zurücklegen. Gibt es keine, kann es nur dieser Name mit diesem Schlüssel noch einmal versiegeln.`,
  'seal-uncovered': (p) => `${p['file']} ist vom Siegel nicht erfasst: später dazugelegt, und beweist nichts.`,
  'photo-kind': (p) =>
    `Das ist kein Foto, das diese Brücke behalten kann: Es beginnt mit ${p['begins']}. JPEG oder PNG senden; die Seite macht eines aus allem, was die Kamera gibt.`,
  'photo-large': (p) => `Das Foto hat ${p['bytes']} Byte; ${p['limitBytes']} sind das Meiste. Kleiner aufnehmen.`,
};
