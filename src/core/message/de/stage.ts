import type { stageTexts } from '../stage.ts';
import { asFigured, n, type Params, type Text } from './figure.ts';

/** One visit: which, its passes, what came of them. */
const visited = (p: Params): string =>
  [
    `${p['visit']}: ${p['passes']} ${p['passes'] === 1 ? 'Durchgang' : 'Durchgänge'}`,
    `${p['pulses']} ${p['pulses'] === 1 ? 'Puls' : 'Pulse'}`,
    ...(p['peakNtu'] === undefined ? [] : [`Spitze ${n(p['peakNtu'], 0)} NTU`]),
  ].join(', ');

/** What stages miss and remark in German, by code. */
export const stageDe: Record<keyof typeof stageTexts, Text> = {
  'stage.tick': (p) => `Noch nicht abgehakt: ${p['what']}.`,
  'stage.caution': (p) => `Warnung lesen und bestätigen: ${p['title']}.`,
  'stage.survey-emitter': () => 'Mindestens einen Heizkörper aufnehmen.',
  'stage.survey-volume': () => 'Die Aufnahme gibt noch kein Volumen: das unten Genannte richten.',
  'stage.rate': (p) => `Die Etikettmenge eintippen: ${p['what']}.`,
  'stage.soft-mallet': (p) => `Nur weicher Hammer: ${p['emitters']}.`,
  'stage.mains': () => 'Das Netzwasser prüfen: Trübung, Leitfähigkeit oder beides. Das Nachspülen richtet sich danach.',
  'stage.after-test': () => 'Das Anlagenwasser prüfen.',
  'stage.outside': (p) =>
    `${p['what']} liegt außerhalb der Grenze: ${asFigured(p['found'])}, Grenze ${asFigured(p['limit'])}.`,
  'stage.swapped': (p) =>
    `Nach ${p['items']} ist das Netzwasser schmutziger als die Anlage. Wurden die Proben vertauscht? Noch einmal prüfen.`,
  'stage.hold': () => 'Den Druck halten: zwei Minuten oder länger.',
  'stage.hold-leak': () => 'Der Druck fällt: das Leck suchen.',
  'stage.hold-rising': () => 'Der Druck steigt: den Füllschlauch schließen.',
  'stage.hold-longer': () => 'Weiter halten: Es ist noch nicht sicher.',
  'stage.no-pressure-sensor': () =>
    'Dieser Messkoffer hat keinen Druckfühler: Ein Leck lässt sich nicht sagen. Verbindungen ansehen und das Manometer ablesen.',
  'stage.fill-unknown': () => 'Den Druck am Manometer ablesen und eintippen.',
  'stage.fill-low': () => 'Füllen, bis der Druck in seinen Grenzen ist.',
  'stage.fill-high': () => 'Der Druck liegt über seinen Grenzen: etwas Wasser ablassen.',
  'stage.near-relief': () => 'Nahe am Sicherheitsventil. Füllschlauch schließen und jetzt Wasser ablassen.',
  'stage.more-than-surveyed': (p) =>
    `Gefüllt wurden ${n(p['difference'], 0)} l mehr als nach der Aufnahme: Etwas fasst Wasser, das nicht aufgenommen wurde.`,
  'stage.less-than-surveyed': (p) =>
    `Gefüllt wurden ${n(p['difference'], 0)} l weniger als nach der Aufnahme: Luft ist drin, oder Ventile sind zu.`,
  'stage.dose': (p) => `Zugeben und die Liter eintippen: ${p['what']}.`,
  'stage.contact': (p) => `Einwirkzeit: noch ${p['minutes']} min.`,
  'stage.mixed': () => 'Umlaufen lassen, bis es gemischt ist.',
  'stage.no-conductivity-sensor': () =>
    'Dieser Messkoffer hat keinen Leitfähigkeitsfühler: Weder Mischung noch Rest des Reinigers lassen sich sagen. Die Einwirkzeit gilt.',
  'stage.hardly-conducts': () =>
    'Dieser Reiniger leitet kaum: Sein Anteil lässt sich aus der Leitfähigkeit nicht sagen. Die Einwirkzeit gilt.',
  'stage.dose-not-seen': () =>
    'Keine Leitfähigkeit von vor der Zugabe: Die Mischung lässt sich nicht sagen. Die Einwirkzeit gilt.',
  'stage.dose-short': (p) => `Das sind etwa ${n(p['percent'], 0)} % von dem, was das Etikett verlangt.`,
  'stage.dose-over': (p) => `Das sind etwa ${n(p['percent'], 0)} % von dem, was das Etikett verlangt: mehr als genug.`,
  'stage.overdose': (p) => `Viel zu viel ${p['what']}: etwa ${n(p['percent'], 0)} % von dem, was das Etikett verlangt.`,
  'stage.overdose-cleaner': (p) =>
    `Viel zu viel Reiniger: etwa ${n(p['percent'], 0)} % von dem, was das Etikett verlangt. Vertippt? Unten auf der Seite richtigstellen. Ist er drin: länger nachspülen, nach Etikett und Sicherheitsblatt die Werkstoffe prüfen und nach den örtlichen Regeln, wohin dieses Wasser darf.`,
  'stage.overdose-inhibitor': (p) =>
    `Viel zu viel Inhibitor: etwa ${n(p['percent'], 0)} % von dem, was das Etikett verlangt. Vertippt? Unten auf der Seite richtigstellen. Ist er drin: Wasser ablassen und nachfüllen, bis die Probe stimmt; nach dem Etikett die Werkstoffe prüfen und nach den örtlichen Regeln, wohin dieses Wasser darf.`,
  'stage.warm': (p) => `Heizen, bis der Rücklauf ${n(p['target'], 0)} °C hat.`,
  'stage.hot': (p) => `Rücklauf ${n(p['celsius'], 0)} °C: Er verbrüht.`,
  'stage.no-return-sensor': () => 'Vom Messkoffer kommt keine Rücklauftemperatur: von Hand ablesen und eintippen.',
  'stage.half-practice': () => 'Etwa die Hälfte ist üblich, ohne Quelle; die Liter sind Schätzungen aus der Aufnahme.',
  'stage.solids-estimate': () =>
    'Feststoffe sind aus Trübung und Durchfluss geschätzt: 0,75 bis 2,25 mg im Liter je NTU, aus dem Gedächtnis. Dunkles Oxid und Ton streuen anders.',
  'stage.chamber-soon': (p) =>
    `Die Kammer ist etwa ${n(p['percent'], 0)} % voll (± ${n(p['spread'], 0)}, geschätzt): nach diesem Heizkörper leeren und es sagen.`,
  'stage.chamber-now': (p) =>
    `Die Kammer kann voll sein: ${n(p['percent'], 0)} % (± ${n(p['spread'], 0)}, geschätzt). Jetzt leeren und es sagen.`,
  'stage.hands-over-action': (p) =>
    `Hände: ${n(p['points'], 0)} Punkte heute, über dem Auslösewert von ${p['action']}: abwechseln oder Werkzeug wechseln; noch ${p['minutes']} min bis zur Grenze.`,
  'stage.hands-over-limit': (p) =>
    `Hände: ${n(p['points'], 0)} Punkte heute, über dem Grenzwert von ${p['limit']}: dieses Werkzeug heute nicht mehr für diese Hände.`,
  'stage.never-clears': (p) =>
    `Nach ${p['passes']} Durchgängen kommt immer noch Schmutz: einwirken lassen, Durchfluss umkehren, abnehmen und auswaschen, oder weitergehen und wiederkommen.`,
  'stage.passes-likely': (p) =>
    `Wohl noch ${p['more']} Durchgänge, ${n(p['minutes'], 0)} min (${n(p['from'], 0)} bis ${n(p['to'], 0)}).`,
  'stage.never-clears-in': (p) =>
    `Nach ${p['passes']} Durchgängen kommt immer noch Schmutz; nach den letzten wohl ${p['more']} weitere, ${n(p['minutes'], 0)} min (${n(p['from'], 0)} bis ${n(p['to'], 0)}); oder einwirken lassen, umkehren, abnehmen und auswaschen.`,
  'stage.never-clears-flat': (p) =>
    `Nach ${p['passes']} Durchgängen kommt immer noch Schmutz und kaum weniger, noch über ${n(p['from'], 0)} min: einwirken lassen, umkehren, oder abnehmen und auswaschen.`,
  'job.left-guess': (p) => `grob noch ${p['about']} (${p['from']} bis ${p['to']})`,
  'job.left': (p) => `noch ${p['about']} (${p['from']} bis ${p['to']})`,
  'job.when-done-first-guess': (p) =>
    `Alles fertig in etwa ${p['about']} (${p['from']} bis ${p['to']}): eine erste Schätzung, noch ist kein Heizkörper fertig.`,
  'job.when-done-stages': (p) =>
    `Alles fertig in etwa ${p['about']} (${p['from']} bis ${p['to']}), nach dem, was die Abschnitte sonst brauchen.`,
  'job.when-done-few-visits': (p) =>
    `Alles fertig in etwa ${p['about']} (${p['from']} bis ${p['to']}), nach wenigen Besuchen.`,
  'job.when-done-visits': (p) => `Alles fertig in etwa ${p['about']} (${p['from']} bis ${p['to']}).`,
  'job.visit-now': (p) => `Besuch ${visited(p)}; jetzt.`,
  'job.visit-done': (p) => `Besuch ${visited(p)}; fertig.`,
  'job.visit-left': (p) => `Besuch ${visited(p)}; verlassen, bevor er fertig war.`,
  'stage.emitters': (p) =>
    `${p['count']} ${Number(p['count']) === 1 ? 'Heizkörper ist' : 'Heizkörper sind'} noch nicht fertig.`,
  'stage.circulate': (p) => `Noch ${p['minutes']} min bei Durchfluss und Temperatur.`,
  'stage.clock-gap': () => 'Die Uhr steht: Es kommen keine Messwerte.',
  'stage.clock-not-measured': (p) => `Die Uhr steht: ${p['what']} wird nicht gemessen.`,
  'stage.clock-low': (p) =>
    `Die Uhr steht: ${p['what']} ${n(p['value'], 1)} ${p['unit']}, mindestens ${asFigured(p['limit'])} ${p['unit']} nötig.`,
  'stage.clock-high': (p) =>
    `Die Uhr steht: ${p['what']} ${n(p['value'], 1)} ${p['unit']}, höchstens ${asFigured(p['limit'])} ${p['unit']} erlaubt.`,
  'stage.top-up': () => 'Nach dem Entlüften ist der Druck niedrig: nachfüllen.',
  'stage.rinse': () => 'Nachspülen, bis das Wasser auf dem Stand des Netzwassers ist.',
  'stage.rinse-briefly': () => 'Innerhalb beider Grenzen: weiter nachspülen, bis das einige Sekunden so bleibt.',
  'stage.rinse-water': () => 'Weiterspülen, bis das Wasser des zuletzt geöffneten Heizkörpers gekommen ist.',
  'stage.rinse-coarse': () =>
    'Die Trübung geht in zu groben Schritten für den Stand des Netzwassers: eine Probe messen oder neben Netzwasser halten und eintippen.',
  'stage.rinse-typed': () =>
    'Trübung und Leitfähigkeit des Spülwassers eintippen, bis beide auf dem Stand des Netzwassers sind.',
  'stage.rinse-own': () => 'Stand des Netzwassers, wie für diesen Lauf festgelegt, statt nach üblicher Praxis.',
  'stage.rinse-practice': () =>
    'Stand des Netzwassers: Trübung des Netzwassers und Leitfähigkeit bis 10 % davon. Üblich; die örtliche Norm nachsehen.',
  'stage.mains-assumed': () =>
    'Das Netzwasser wurde in diesem Lauf nicht geprüft: Das Nachspülen geht nach dem vorher Bekannten.',
  'stage.cleaner-left': () =>
    'Es ist mehr Reiniger übrig, als der Inhibitor verträgt (etwa ein Fünftel, üblich): weiter nachspülen.',
  'stage.signed': () => 'Die Übergabe unterschreiben.',
  'stage.handed-over': () => 'Übergeben. Bemerkungen stehen von jetzt an neben dem Protokoll.',
  'job.stage-why': (p) =>
    `Warum jetzt von „${p['from']}“ zu „${p['to']}“? ${p['missing'] || 'Das ist außer der üblichen Reihe.'} Geben Sie den Grund an: Die Aufzeichnung behält ihn.`,
  'job.caution-unread': (p) => `Erst lesen und bestätigen: ${p['title']}. ${p['text']}`,
  'job.alarm-unknown': (p) => `Einen Alarm „${p['alarm']}“ gibt es nicht; es gibt: ${p['known']}.`,
  'job.caution-unknown': (p) => `Eine Warnung „${p['caution']}“ gibt es nicht.`,
  'job.pause-why': () => 'Warum ruht der Lauf? Geben Sie den Grund an: Die Aufzeichnung behält ihn.',
  'job.typed-wrong': (p) =>
    `${p['label']}: ${asFigured(p['found'])} wurde angegeben, ${p['expected']}. Richtigstellen und noch einmal senden.`,
  'job.typed-unknown': (p) =>
    `Kein Abschnitt fragt nach „${p['what']}“. In docs/events.md steht, was eingetippt werden kann.`,
  'job.limits-wrong': (p) =>
    `Grenzen, Zeile ${p['line']}, ${p['column']}: gefunden ${p['found']}, erwartet ${p['expected']}. Nichts davon wurde angenommen.`,
  'job.units-kind': (p) => `Für „${p['kind']}“ gibt es keine Wahl der Einheit; es gibt eine für ${p['known']}.`,
  'job.units-unknown': (p) =>
    `„${p['unit']}“ ist hier keine Einheit für ${p['kind']}; wählen Sie eine von ${p['known']}.`,
  'job.photo-upload': () =>
    'Ein Foto kommt mit seinem Bild: an /api/runs/current/photos senden, das macht den Eintrag selbst.',
  'job.survey-wrong': (p) =>
    `Aufnahme, Zeile ${p['line']}, ${p['column']}: gefunden ${p['found']}, erwartet ${p['expected']}. Nichts davon wurde angenommen.`,
};
