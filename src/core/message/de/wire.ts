import type { wireTexts } from '../wire.ts';
import { asFigured, type Text } from './figure.ts';

/** Sentences of the wire room in German, by code. */
export const wireDe: Record<keyof typeof wireTexts, Text> = {
  'wire-crc': (p) =>
    `Die Prüfsumme einer Zeile war ${p['found']}, ihre Bytes ergeben ${p['expected']}; die Zeile wurde übergangen. Bei vielen davon: nach dem Kabel sehen, seiner Länge und seinen Nachbarn.`,
  'wire-crc-form': (p) =>
    `Hinter „*“ einer Zeile stehen ${p['bytes']} Zeichen, die keine vier Hexziffern in Großbuchstaben sind; die Zeile wurde übergangen. Als %04X ausgeben.`,
  'wire-too-long': (p) =>
    `Eine Zeile ist länger, als ein Paket sein darf (${p['limit']} Byte), und wurde übergangen. Beendet der Messkoffer jedes Paket mit einem Zeilenvorschub?`,
  'wire-not-text': (p) =>
    `Eine Zeile von ${p['bytes']} Byte ist kein UTF-8-Text und wurde übergangen. Bei vielen davon: die Geschwindigkeit der Schnittstelle und die Masseleitung prüfen.`,
  'wire-cut': (p) =>
    `Eine Zeile war abgeschnitten (${p['bytes']} Zeichen, beginnt ${p['start']}) und wurde übergangen. Bei vielen davon: Startet der Messkoffer beim Senden neu, oder ist sein Sendepuffer zu klein?`,
  'wire-not-json': (p) =>
    `Eine Zeile ist kein SenML-Paket in JSON (${p['bytes']} Zeichen, beginnt ${p['start']}) und wurde übergangen. Auf dieser Schnittstelle nichts anderes ausgeben; docs/wire.md zeigt, wie es geht.`,
  'wire-not-cbor': (p) =>
    `Eine Nachricht von ${p['bytes']} Byte ist kein SenML-Paket in CBOR (${p['what']}) und wurde übergangen. JSON senden, das mit „[“ beginnt, oder CBOR nach RFC 8428, Abschnitt 6.`,
  'wire-topic': (p) =>
    `Ein Paket von ${p['found']} kam unter dem Topic von ${p['expected']} und wurde übergangen: Ein Messkoffer sendet nur unter seinem eigenen Namen.`,
  'wire-no-pack': () =>
    'Eine Zeile ist JSON, aber kein SenML-Paket, und wurde übergangen: Ein Paket ist eine Liste von mindestens einem Eintrag, wie [{"bn":...}].',
  'wire-record': (p) =>
    `Eintrag ${p['record']} eines Pakets wurde nicht benutzt: Sein Feld ${p['field']} ist falsch (${p['what']}). Siehe docs/wire.md.`,
  'wire-number': (p) =>
    `${p['channel']} kam ohne Zahl und wurde nicht benutzt. Den Eintrag eines gestörten Fühlers weglassen, statt nan oder null zu senden.`,
  'wire-version': (p) => `Ein Paket nennt SenML-Version ${p['found']}; diese Brücke liest bis 10. bver weglassen.`,
  'wire-label': (p) =>
    `Ein Paket enthält das Feld ${p['found']}, dessen „_“ am Ende sagt, dass man es verstehen muss; es wird nicht verstanden, also wurde das Paket übergangen.`,
  'wire-name': (p) =>
    `Der Name „${p['found']}“ eines Eintrags enthält Zeichen, die SenML nicht erlaubt, und wurde nicht benutzt: nur Buchstaben, Ziffern und - : . / _.`,
  'wire-values': (p) =>
    `${p['name']} hat ${p['values']} Werte und braucht genau einen von v, vs, vb, vd; es wurde nicht benutzt.`,
  'wire-base64': (p) => `${p['name']} hat ein vd, das kein base64url ohne Auffüllung ist; es wurde nicht benutzt.`,
  'wire-kit': (p) =>
    `Der erste Name eines Pakets ist „${p['found']}“; er muss urn:dev:... sein, dann „_“, dann der Kanal. "bn":"urn:dev:mac:..._" in den ersten Eintrag setzen.`,
  'wire-kits': (p) =>
    `Ein Paket enthält Einträge zweier Messkoffer (${p['first']}, ${p['found']}) und wurde übergangen: ein Paket, ein Messkoffer.`,
  'wire-times': (p) =>
    `Ein Paket enthält Einträge zweier Zeiten (${p['first']}, ${p['found']}) und wurde übergangen: ein Paket, ein Augenblick.`,
  'wire-no-identity': (p) =>
    `Einem Paket von ${p['kit']} fehlt ${p['missing']}, es wurde übergangen: Jedes Paket braucht boot, seq und up.`,
  'wire-identity': (p) =>
    `${p['channel']} eines Pakets ist ${p['found']}, das Paket wurde übergangen: boot und seq sind ganze Zahlen ab 0 (Einheit count), up sind Sekunden seit dem Start (Einheit s).`,
  'wire-channel': (p) =>
    `Der Messkoffer sendet „${p['channel']}“, einen unbekannten Kanal; er wurde nicht benutzt. Die Namen stehen in docs/wire.md.`,
  'wire-unit': (p) =>
    `${p['channel']} kam in der Einheit ${p['found']} und wurde nicht benutzt; in ${p['expected']} senden.`,
  'wire-type': (p) => `${p['channel']} wurde nicht benutzt: Gesendet werden muss ${p['expected']}.`,
  'wire-doubled': (p) => `${p['channel']} steht zweimal in einem Paket; der erste Wert wurde benutzt.`,
  'wire-absurd': (p) =>
    `${p['channel']} zeigt ${asFigured(p['found'])} ${p['unit']}, was keine Heizung gibt (${asFigured(p['min'])} bis ${asFigured(p['max'])}); es wurde nicht benutzt. Fühler, Verdrahtung und Umrechnung prüfen.`,
  'wire-negative-flow': (p) =>
    `Der Durchfluss zeigt ${asFigured(p['found'])} ${p['unit']}; er wurde nicht benutzt. Sitzt der Fühler gegen seinen Pfeil, oder stimmt sein Nullpunkt nicht?`,
  'wire-hello-alone': (p) =>
    `Der Messkoffer sendet „${p['channel']}“ ohne „hello“ im selben Paket; es wurde nicht benutzt. Beides in ein Paket setzen.`,
  'command-rate': (p) =>
    `Von einem Messkoffer lassen sich nicht ${p['found']} Pakete je Sekunde verlangen: ${p['min']} bis ${p['max']}.`,
  'command-many': (p) => `Der Messkoffer hat schon ${p['most']} Befehle zu beantworten; darauf warten.`,
  'command-not-sent': () =>
    'Der Befehl ließ sich nicht senden: Der Messkoffer ist jetzt nicht da. Noch einmal, wenn er da ist.',
  'command-refused': (p) => `Der Messkoffer hat den Befehl abgelehnt: ${p['why']}.`,
  'command-restart': () =>
    'Der Messkoffer startete neu, bevor er antwortete; ob er gehorcht hat, ist nicht bekannt. Sehen, was er jetzt sagt, und noch einmal fragen.',
  'command-no-answer': (p) =>
    `Der Messkoffer hat in ${p['seconds']} s nicht geantwortet. Kennt seine Firmware Befehle, und geht das Kabel in beide Richtungen?`,
  'command-other-rate': (p) =>
    `Der Messkoffer hat geantwortet, bleibt aber bei ${p['found']} Paketen je Sekunde: Die verlangte Rate kann er nicht geben.`,
};
