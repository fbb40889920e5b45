import type { storeTexts } from '../store.ts';
import type { Params, Text } from './figure.ts';

/** What `verifyChain` found, by its kind. */
const chainWords: Readonly<Record<string, Text>> = {
  changed: (p) => `${entry(p)} wurde geändert, nachdem er behalten war`,
  dropped: (p) => entries(p),
  truncated: (p) => `${entries(p)} am Ende`,
  swapped: (p) => `${entry(p)} wurde an eine andere Stelle versetzt`,
  inserted: (p) => `${entry(p)} wurde später eingeschoben`,
  head: () => 'womit der Lauf begann (Titel, Aufnahme, Einstellungen), wurde danach geändert',
};

const entry = (p: Params): string => `Eintrag ${p['index']}${p['named'] ? ` (${p['named']})` : ''}`;
const entries = (p: Params): string =>
  Number(p['count'] ?? 1) === 1 ? `Eintrag ${p['index']} fehlt` : `${p['count']} Einträge ab ${p['index']} fehlen`;

const elsewhere = 'Mit einer früheren Kopie vergleichen: versiegeltes Protokoll, Ausfuhr, Sicherung.';

/** Sentences of the store room in German, by code: a record that cannot be written is told on the page. */
export const storeDe: Record<keyof typeof storeTexts, Text> = {
  'store-in-use': (p) =>
    `Der Speicher ${p['file']} wird von ${p['pid'] ? `einem anderen Limpid (Prozess ${p['pid']})` : 'einem anderen Programm'} benutzt. Dieses anhalten, oder dem hier einen anderen Datenordner geben.`,
  'store-not-writable': (p) =>
    `Der Speicher ${p['file']} lässt sich nicht schreiben (${p['detail']}). Dem Benutzer, der Limpid ausführt, das Recht dazu geben, oder einen anderen Datenordner nennen: um Protokolle nur anzusehen, eine Kopie von diesem.`,
  'store-disk-full': (p) =>
    `Auf der Platte von ${p['file']} ist kein Platz mehr: Es kann nichts mehr behalten werden. Platz schaffen (alte Aufzeichnungen, andere Dateien); die Aufzeichnung geht dann von selbst weiter.`,
  'store-samples-lost': (p) =>
    `${Number(p['count']) === 1 ? 'Der letzte Messwert' : `Die letzten ${p['count']} Messwerte`}, ab ${Math.floor(Number(p['fromS']))} s des Laufs, ${Number(p['count']) === 1 ? 'ließ' : 'ließen'} sich nicht mehr schreiben und ${Number(p['count']) === 1 ? 'ist' : 'sind'} verloren: Limpid wurde angehalten, als die Platte nichts mehr annahm. Alles davor ist behalten. Vor dem nächsten Start Platz schaffen.`,
  'store-corrupt': (p) =>
    `Der Speicher ${p['file']} ist beschädigt (${p['detail']}). „limpid salvage NEUERORDNER“ ausführen: Es macht aus dem Lesbaren einen neuen Datenordner und sagt, was verloren ist; der beschädigte bleibt, wie er ist.`,
  'store-past-salvage': (p) =>
    `Von ${p['file']} ist nichts zu lesen (${p['detail']}). Ausgeführte Aufzeichnungen, versiegelte Protokolle (der Ordner „sealed“) und Sicherungen lassen sich in einen neuen Speicher einlesen.`,
  'store-foreign': (p) =>
    `${p['file']} ist eine Datenbank, aber kein Speicher von Limpid. Einen anderen Datenordner wählen.`,
  'store-too-new': (p) =>
    `Der Speicher ${p['file']} hat Version ${p['found']}, dieses Limpid kennt Versionen bis ${p['expected']}. Das neuere Limpid benutzen, oder einen anderen Datenordner.`,
  'store-migration-failed': (p) =>
    `Der Speicher ${p['file']} ließ sich nicht von Version ${p['from']} auf ${p['to']} bringen (${p['detail']}). Er ist unverändert; eine Kopie ist ${p['backup']}. Das Limpid benutzen, das ihn geschrieben hat, oder einen anderen Datenordner.`,
  'store-io': (p) =>
    `Lesen oder Schreiben des Speichers ${p['file']} ist gescheitert (${p['detail']}). Platte oder Karte und ihr Kabel prüfen.`,
  'store-closed': (p) => `Der Speicher ${p['file']} ist schon geschlossen.`,
  'store-certificate-exists': (p) =>
    `Ein Zertifikat ${p['id']} gibt es schon, und Zertifikate werden nie geändert. Ein neues machen.`,
  'store-run-exists': (p) =>
    `Der Speicher enthält schon einen Lauf ${p['runId']}. Dem neuen einen anderen Namen geben.`,
  'store-sample-order': (p) =>
    `Ein Messwert bei ${p['timeS']} s kam nach einem bei ${p['lastS']} s; Messwerte müssen in steigender Zeit kommen. Er wurde nicht behalten.`,
  'store-sample-number': (p) =>
    `Der Messwert bei ${p['timeS']} s hat ${p['found']} für ${p['key']}, das ist keine Zahl. Ein fehlender Wert muss null sein. Er wurde nicht behalten.`,
  'store-event-invalid': (p) => `Das Ereignis ${p['event']} lässt sich nicht behalten: ${p['path']}: ${p['detail']}.`,
  'store-chain-broken': (p) =>
    `Die Ereignisse des Laufs ${p['runId']} sind nicht, was verkettet wurde: ${p['kind']} bei Eintrag ${p['index']}. Nichts wurde übernommen.`,
  'store-samples-differ': (p) =>
    `Die Messwerte des Laufs ${p['runId']} von ${p['fromS']} s bis ${p['toS']} s sind nicht die verketteten (${p['detail']}). Nichts wurde übernommen.`,
  'store-row-unreadable': (p) =>
    `Lauf ${p['runId']}: ${p['what']} in limpid.sqlite lässt sich nicht lesen (${p['detail']}). Limpid schreibt nichts dergleichen: Etwas anderes hat den Speicher geändert. War der Lauf versiegelt, so steht sein Protokoll im Ordner „sealed“, wie es unterschrieben wurde („limpid report ORDNER“); sonst eine Sicherung nehmen, oder „limpid salvage NEUERORDNER“.`,
  'stored-chain-broken': (p) =>
    `limpid.sqlite: ${chainWords[String(p['kind'])]?.(p) ?? `${p['kind']} bei Eintrag ${p['index']}`}. ${elsewhere}`,
  'stored-samples-changed': (p) =>
    `limpid.sqlite: Die Messwerte von ${p['fromS']} s bis ${p['toS']} s sind nicht die, die die Kette enthält. ${elsewhere}`,
  'stored-samples-gone': (p) =>
    `limpid.sqlite: Die Messwerte von ${p['fromS']} s bis ${p['toS']} s, die die Kette enthält, fehlen. ${elsewhere}`,
  'stored-samples-put-in': (p) =>
    `limpid.sqlite: Messwerte von ${p['fromS']} s bis ${p['toS']} s wurden eingeschoben, die kein Eintrag der Kette enthält. ${elsewhere}`,
  'stored-samples-after-seal': (p) =>
    `limpid.sqlite: ${p['count']} ${p['count'] === 1 ? 'Messwert wurde' : 'Messwerte wurden'} eingefügt, nachdem der Lauf versiegelt war. ${elsewhere}`,
  'stored-seal-head': (p) =>
    `limpid.sqlite endet mit dem Eintrag ${p['found']}, versiegelt wurde aber bis ${p['expected']}. ${elsewhere}`,
  'stored-file-changed': (p) =>
    `${p['file']}, neben dem Lauf aufbewahrt, ist nicht, was sein Eintrag in der Kette nennt. ${elsewhere}`,
};
