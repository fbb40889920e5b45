import type { runTexts } from '../run.ts';
import { n, type Text } from './figure.ts';

/** Of the run room, what a page shows; what only the command line says stays English. */
type Shown = Extract<
  keyof typeof runTexts,
  `${'job' | 'band' | 'button' | 'undo' | 'link' | 'run.not' | 'run.analysis'}${string}`
>;

/** Refusals, the verdict in words, buttons and links in German, by code. */
export const runDe: Record<Shown, Text> = {
  'job.unknown-event': (p) => `Ein Ereignis „${p['event']}“ gibt es nicht. Die Namen stehen in docs/events.md.`,
  'job.unknown-stage': (p) => `Einen Abschnitt „${p['stage']}“ gibt es nicht. Die Namen stehen in docs/events.md.`,
  'job.unknown-emitter': (p) =>
    `Dieser Lauf hat keinen Heizkörper „${p['emitter']}“. Er hat: ${p['known']}. Nehmen Sie ihn in die Angaben zum Lauf auf, oder einen von diesen.`,
  'job.run-ended': (p) => `Der Lauf ist zu Ende, „${p['event']}“ wurde nicht angenommen. Beginnen Sie einen neuen.`,
  'job.stage-already': (p) => `Der Lauf ist schon im Abschnitt „${p['stage']}“.`,
  'job.none-open': (p) =>
    `Kein Heizkörper ist offen, „${p['event']}“ wurde nicht angenommen. Öffnen Sie erst den Heizkörper.`,
  'job.other-open': (p) =>
    `„${p['emitter']}“ ist nicht offen; „${p['open']}“ ist es. Schließen Sie diesen, oder öffnen Sie erst „${p['emitter']}“.`,
  'job.no-pass': (p) => `An „${p['emitter']}“ ist kein Durchgang mehr zurückzunehmen.`,
  'job.same-press': (p) => `Dasselbe Drücken, ${n(p['apartS'], 1)} s auseinander: ein Durchgang gezählt.`,
  'job.which-emitter': () => 'Welcher Heizkörper? Nennen Sie seine Kennung.',
  'job.emitters-not-begun': (p) =>
    `„${p['emitter']}“ wurde nicht geöffnet: Die Arbeit an einzelnen Heizkörpern hat nicht begonnen. Beginnen Sie erst den Abschnitt „Heizkörper einzeln“.`,
  'job.already-open': (p) => `„${p['emitter']}“ ist schon offen.`,
  'job.skip-open': (p) => `„${p['emitter']}“ ist offen. Erst schließen, dann auslassen, oder den nächsten öffnen.`,
  'job.skip-why': (p) =>
    `Warum wird „${p['emitter']}“ ausgelassen? Geben Sie den Grund an: Die Aufzeichnung behält ihn.`,
  'job.already-skipped': (p) => `„${p['emitter']}“ ist schon ausgelassen.`,
  'job.not-leading': (p) => `„${p['lead']}“ führt diesen Lauf. Übernehmen Sie erst die Führung, dann noch einmal.`,
  'job.nothing-to-undo': () => 'Es gibt nichts zurückzunehmen.',
  'job.undo-unknown': () => 'Was zurückgenommen werden soll, ist in diesem Lauf nicht bekannt.',
  'job.undo-twice': () => 'Das wurde schon zurückgenommen.',
  'job.correct-unknown': () =>
    'Nichts, was in diesem Lauf eingetippt wurde, heißt so. Die falsche Eingabe (Dosis, Wasserprobe, Etikett, Grenzwert, Zahl, gewogener Schlamm) mit der Kennung nennen, mit der sie gesendet wurde.',
  'job.correct-undone': () => 'Das wurde zurückgenommen, also gibt es nichts richtigzustellen. Neu eingeben.',
  'job.undo-not-last': () => 'Seither wurde anderes getan. Nehmen Sie erst das zurück, oder sagen Sie, was jetzt gilt.',
  'job.undo-too-late': (p) =>
    `Es lässt sich nur ${p['windowS']} s lang zurücknehmen. Sagen Sie, was jetzt gilt: Die Aufzeichnung behält beides.`,
  'job.do-shake': () => 'Rütteln, dann „Durchgang fertig“ drücken',
  'job.do-wait': () => 'Warten: Das Wasser ist unterwegs',
  'job.do-wait-dirty': () => 'Warten, bis es vorbei ist',
  'job.do-shake-again': () => 'Rütteln, dann „Durchgang fertig“ drücken',
  'job.do-next': (p) => `Schließen, dann öffnen: ${p['next']}`,
  'job.do-shut-last': () => 'Schließen: Es war der letzte',
  'job.do-wait-sight': () => 'Warten; nicht nach dem letzten Urteil gehen',
  'job.do-look': () => 'Nach dem Gerät sehen; nicht nach dem letzten Urteil gehen',
  'job.do-alarm-first': () => 'Zuerst tun, was der Alarm sagt',
  'job.do-open': (p) => `Öffnen: ${p['next']}, alle anderen schließen`,
  'job.do-resume': () => '„Weiter“ drücken, wenn die Arbeit weitergeht',
  'job.paused': (p) => `Pause: ${p['why']}.`,
  'job.do-seal': () => 'Unterschrieben: das Protokoll versiegeln',
  'job.do-next-stage': () => 'Alles da: weiter zum nächsten Abschnitt',
  'job.do-go-on': () => 'Alle Heizkörper sind fertig: weiter zum nächsten Abschnitt',
  'job.do-go-on-or-open': () => 'Weiter zum nächsten Abschnitt, oder einen noch einmal öffnen',
  'job.do-sample': () => 'Eine Probe neben Netzwasser halten',
  'job.do-rinse': () => 'Weiter nachspülen',
  'job.do-rinse-done': () => 'Das Nachspülen kann enden',
  'job.no-emitter-open': () => 'Kein Heizkörper ist offen.',
  'job.none-to-open': (p) =>
    `Kein Heizkörper mehr zu öffnen: ${p['done']} fertig, ${p['left']} unfertig, ${p['skipped']} entfallen.`,
  'job.stage-idle': (p) =>
    `Der Lauf ist im Abschnitt „${p['stage']}“: Der Rücklauf wird aufgezeichnet, nicht beurteilt.`,
  'job.not-begun': () => 'Der Lauf hat nicht begonnen.',
  'band.watching': () => 'Rücklauf abwarten',
  'band.carrying': () => 'Schmutz kommt',
  'band.settling': () => 'Fällt',
  'band.clear-shake': () => 'Klar: rütteln',
  'band.clear-again': () => 'Klar: noch einmal',
  'band.done': () => 'Fertig: schließen',
  'band.clear-alone': () => 'Klar',
  'band.done-alone': () => 'Fertig',
  'band.cannot-tell': () => 'Kein Urteil',
  'band.rests': () => 'Der Lauf ruht',
  'band.open': () => 'Heizkörper öffnen',
  'band.worked-on': ({ done, left, skipped }) => {
    if (Number(left) > 0 && Number(skipped) > 0) return `${done} fertig, ${Number(left) + Number(skipped)} nicht`;
    if (Number(left) > 0) return `${done} fertig, ${left} unfertig`;
    return Number(skipped) > 0 ? `${done} fertig, ${skipped} entfallen` : `${done} fertig`;
  },
  'band.not-begun': () => 'Nicht begonnen',
  'band.begin': () => 'Mit der Aufnahme beginnen',
  'band.at-mains': () => 'Wie Netzwasser',
  'band.rinse': () => 'Kalt nachspülen',
  'band.rinsing': () => 'Spült nach',
  'button.go-on': () => 'Weiter',
  'button.pass': () => 'Durchgang fertig',
  'button.open': (p) => `Öffnen: ${p['emitter']}`,
  'button.shut': (p) => `Schließen: ${p['emitter']}`,
  'button.shut-open': (p) => `Schließen und öffnen: ${p['next']}`,
  'button.skip': (p) => `Auslassen: ${p['emitter']}`,
  'button.start': (p) => `Beginnen: ${p['stage']}`,
  'button.end': () => 'Lauf beenden',
  'button.caution': (p) => `Erledigt: ${p['title']}`,
  'undo.pass': (p) => `Durchgang: ${p['emitter']}`,
  'undo.pass-kit': (p) => `Durchgang vom Knopf am Messkoffer: ${p['emitter']}`,
  'undo.open': (p) => `Geöffnet: ${p['emitter']}`,
  'undo.shut': (p) => `Geschlossen: ${p['emitter']}`,
  'undo.skip': (p) => `Ausgelassen: ${p['emitter']}`,
  'undo.override': (p) => `Entgegen dem Urteil: ${p['emitter']}`,
  'undo.dose': (p) => `${p['what']} zugegeben`,
  'undo.label': (p) => `Etikettmenge: ${p['what']}`,
  'undo.typed': (p) => `Eingetippt: ${p['what']}`,
  'undo.corrected': (p) => `Richtiggestellt: ${p['what']}`,
  'undo.sample': (p) => `Wasserprobe: ${p['what']}`,
  'undo.limit': (p) => `Grenze: ${p['what']}`,
  'undo.weighed': () => 'Schlamm gewogen',
  'undo.stage': (p) => `Begonnen: ${p['stage']}`,
  'link.sensor-ok': () => 'Die Trübung wird gelesen.',
  'link.sensor-off': () => 'Nicht bekannt, solange der Messkoffer fort ist.',
  'link.sensor-sealed': () => 'Der Lauf ist versiegelt: Es wird nichts mehr gemessen.',
  'link.sensor-never': () => 'Der Messkoffer sendet keine Trübung: nach Fühler und Stecker sehen.',
  'link.sensor-gone': () => 'Die Trübung kommt nicht mehr: nach Fühler und Stecker sehen.',
  'link.kit-ok': (p) => `Messwerte kommen von ${p['source']}.`,
  'link.kit-closed': (p) => `Nicht verbunden mit ${p['source']}.`,
  'link.kit-opening': (p) => `Verbindung zu ${p['source']} wird aufgebaut.`,
  'link.kit-ended': (p) => `${p['source']} ist zu Ende.`,
  'link.kit-no-pack': (p) => `Verbunden mit ${p['source']}, aber noch kein Messwert: Läuft der Messkoffer?`,
  'link.kit-stale': (p) => `Von ${p['source']} kommt kein Messwert: nach Messkoffer und Kabel sehen.`,
  'link.kit-besides': (p) =>
    `Der Messkoffer dieses Laufs (${p['kit']}) schweigt: nach ihm sehen. Ein anderer, ${p['besides']}, ist zu hören und wird nicht benutzt, denn er kann in anderem Wasser stehen. Um mit ihm weiterzumachen, einen neuen Lauf beginnen.`,
  'link.bridge-ok': () => 'Es wird aufgezeichnet.',
  'link.count-behind': () =>
    'Pakete ohne Platz in diesem Lauf: vor seinem Beginn gemacht, während die Brücke aus war, oder vor einem Neustart des Messkoffers. Sie stehen nicht in der Aufzeichnung.',
  'link.count-placedLate': () =>
    'Messwerte, die kamen, als ihre Zeit vorbei war. Sie stehen in Aufzeichnung und Verlauf bei ihrer Zeit; das Urteil fiel ohne sie.',
  'link.count-otherKit': () =>
    'Pakete eines anderen Messkoffers als dem dieses Laufs, nicht benutzt. Um mit einem anderen weiterzumachen, einen neuen Lauf beginnen.',
  'link.count-moved': () =>
    'Messwerte, die so spät kamen, dass sie bei einer späteren Zeit stehen, als sie gemessen wurden.',
  'link.count-kitPassRefused': () => 'Drücke auf den Knopf am Messkoffer, als kein Heizkörper offen war.',
  'run.analysis-fault': () =>
    'Die Auswertung hat einen eigenen Fehler, darum gibt es kein Urteil. Die Aufzeichnung läuft weiter; starten Sie die Brücke neu, und schicken Sie uns den ausgeführten Lauf.',
  'run.not-kept': () =>
    'Es ließ sich nicht aufzeichnen, darum wurde es nicht getan. Noch einmal versuchen; nach der Platte sehen.',
};
