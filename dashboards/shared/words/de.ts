import { deTexts } from '../../../src/core/message/de/de.ts';
import { dePatterns, dePlain } from '../../../src/core/message/de/plain.ts';
import { germanStages } from './de-stages.ts';
import { germanTrust } from './de-trust.ts';
import { germanWork } from './de-work.ts';
import type { Catalogue } from './language.ts';

/** German of every phrase of the pages, by its English. A phrase that is not here does not compile where it is used. */
export const german = {
  ...germanWork,
  ...germanTrust,
  ...germanStages,

  '{kind} in {unit}, of {all}': '{kind} in {unit}, von {all}',
  pressure: 'Druck',
  flow: 'Durchfluss',
  volume: 'Volumen',
  temperature: 'Temperatur',

  // The line on top
  Sensors: 'Fühler',
  Kit: 'Messkoffer',
  Bridge: 'Brücke',
  Page: 'Seite',
  now: 'jetzt',
  off: 'aus',
  on: 'an',
  'no word yet': 'noch nichts',
  Links: 'Verbindungen',
  'Simulated water': 'Simuliertes Wasser',
  'Since this page heard the bridge': 'Seit diese Seite die Brücke gehört hat',
  'The bridge does not answer. Trying again, for as long as it takes.':
    'Die Brücke antwortet nicht. Es wird weiter versucht, so lange es dauert.',
  'The bridge does not answer. What you see is {minutes} min old; what you press waits. Trying again.':
    'Die Brücke antwortet nicht. Alles hier ist {minutes} min alt; was Sie drücken, wartet.',
  'No word from the bridge for {seconds} s. What you see is old, what you press waits. Trying again.':
    'Seit {seconds} s kein Wort von der Brücke. Alles hier ist alt; was Sie drücken, wartet.',
  'The bridge speaks otherwise than this page.': 'Die Brücke spricht anders als diese Seite.',
  Reload: 'Neu laden',
  'Looking for the bridge.': 'Die Brücke wird gesucht.',
  Light: 'Hell',
  Dark: 'Dunkel',
  Settings: 'Einstellungen',
  'this device leads': 'dieses Gerät führt',
  'screen stays on': 'Anzeige bleibt an',
  'screen may sleep': 'Anzeige kann schlafen',
  'sound on': 'Ton an',
  'sound off': 'Ton aus',
  'Test the sound': 'Ton prüfen',
  'Heard it?': 'Gehört?',
  Yes: 'Ja',
  No: 'Nein',
  'Turn up the volume of this device and switch its silent mode off, then test the sound again.':
    'Stellen Sie das Gerät lauter und die Stummschaltung ab, dann prüfen Sie den Ton noch einmal.',
  'The tablet lets this page keep the screen on.': 'Das Tablet lässt diese Seite die Anzeige anhalten.',
  'Switched off: the tablet sleeps when it likes.': 'Abgeschaltet: Das Tablet schläft, wann es will.',
  'A page on plain http cannot keep the screen on: set the tablet to sleep after 30 minutes.':
    'Eine Seite über einfaches http kann die Anzeige nicht anhalten: Stellen Sie das Tablet auf Schlaf nach 30 Minuten.',
  'The tablet refuses to keep the screen on; look at its battery saver.':
    'Das Tablet weigert sich, die Anzeige anzuhalten; sehen Sie nach seinem Stromsparen.',

  // The verdict
  Verdict: 'Urteil',
  watching: 'wartet',
  carrying: 'Schmutz',
  settling: 'fällt',
  clear: 'klar',
  done: 'fertig',
  'Turbidity, return': 'Trübung, Rücklauf',
  'return, now': 'jetzt',
  'no reading yet': 'noch kein Messwert',
  'last {ntu} NTU, {age} ago': 'zuletzt {ntu} NTU, vor {age}',
  '{age} old': '{age} alt',

  // The buttons
  Actions: 'Handlungen',
  'press and hold': 'gedrückt halten',
  'waiting to be sent': 'wartet aufs Senden',
  'waiting to be sent ({count})': 'wartet aufs Senden ({count})',
  'waits for the bridge': 'wartet auf die Brücke',
  'Press again to confirm': 'Zum Bestätigen noch einmal drücken',
  'Press again to confirm: {what}': 'Zum Bestätigen noch einmal drücken: {what}',
  'Undo: {what}': 'Zurücknehmen: {what}',
  'The bridge refused ({status}).': 'Die Brücke hat abgelehnt ({status}).',
  'The bridge did not answer. Try again when the link is back.':
    'Die Brücke hat nicht geantwortet. Versuchen Sie es wieder, wenn die Verbindung steht.',
  'This device may watch. To work from it, type the pairing code from the console of the bridge.':
    'Dieses Gerät darf zusehen. Um daran zu arbeiten, tippen Sie den Code von der Konsole der Brücke ein.',
  Pair: 'Verbinden',
  'Take the lead': 'Führung übernehmen',
  'Another device leads this run; this one watches. Take the lead to work from here.':
    'Ein anderes Gerät führt diesen Lauf; dieses sieht zu. Übernehmen Sie die Führung, um von hier zu arbeiten.',
  'Another device leads this run.': 'Ein anderes Gerät führt diesen Lauf.',
  'Nobody leads: every paired device may write.': 'Niemand führt: Jedes verbundene Gerät darf schreiben.',
  'This device leads: the others watch until one of them takes the lead.':
    'Dieses Gerät führt: Die anderen sehen zu, bis eines die Führung übernimmt.',

  // Settings
  'Settings of this device': 'Einstellungen dieses Geräts',
  Close: 'Schließen',
  'Sound on a change of verdict': 'Ton bei neuem Urteil',
  Vibration: 'Vibration',
  'This device does not vibrate.': 'Dieses Gerät vibriert nicht.',
  'Keep the screen on': 'Anzeige anhalten',
  Keys: 'Tasten',
  '1, 2, 3: the buttons; Page Down: what to do now; U: undo. The button on the kit tells a pass as well.':
    '1, 2, 3: die Knöpfe; Bild ab: was jetzt zu tun ist; U: zurücknehmen. Der Knopf am Messkoffer meldet einen Durchgang ebenso.',
  Language: 'Sprache',
  'Size of figures and buttons': 'Größe von Zahlen und Knöpfen',
  'Lay a bank card on the box and make the box as wide as the card.':
    'Legen Sie eine Bankkarte auf das Feld und machen Sie das Feld so breit wie die Karte.',
  Narrower: 'Schmaler',
  'As it was': 'Wie vorher',
  'Reached by https: it can be installed, opens without the bridge and keeps the screen on.':
    'Über https erreicht: Die Seite lässt sich installieren, öffnet ohne die Brücke und hält die Anzeige an.',
  'Reached on its own machine: it can be installed, opens without the bridge and keeps the screen on.':
    'Auf der eigenen Maschine erreicht: Die Seite lässt sich installieren, öffnet ohne die Brücke und hält die Anzeige an.',
  'This browser trusts the address: it can be installed, opens without the bridge and keeps the screen on.':
    'Dieser Browser traut der Adresse: Die Seite lässt sich installieren, öffnet ohne die Brücke und hält die Anzeige an.',
  'Reached by plain http: all that matters works, but the screen may sleep and the page cannot open while the bridge is away.':
    'Über einfaches http erreicht: Alles Wichtige geht, aber die Anzeige kann schlafen, und die Seite öffnet nicht, während die Brücke fort ist.',
  'How to get the rest': 'So bekommen Sie den Rest',

  // The chart
  'Return turbidity over time': 'Trübung des Rücklaufs über der Zeit',
  'Chart of turbidity: arrow keys move it, plus and minus stretch it, Escape goes back to live':
    'Verlauf der Trübung: Pfeiltasten verschieben, Plus und Minus dehnen, Escape geht zurück zu jetzt',
  'What the chart shows': 'Was der Verlauf zeigt',
  'Last 4 min': 'Letzte 4 min',
  'Last 14 min': 'Letzte 14 min',
  'Pulses compared': 'Pulse verglichen',
  pulse: 'Puls',
  'As a table': 'Als Tabelle',
  Earlier: 'Früher',
  Later: 'Später',
  Closer: 'Näher',
  Wider: 'Breiter',
  'Back to live': 'Zurück zu jetzt',
  'no data {seconds} s': 'keine Werte {seconds} s',
  'no data': 'keine Werte',
  'clear under {ntu}': 'klar unter {ntu}',
  'at most {ntu}': 'höchstens {ntu}',
  'background {ntu}': 'Grundtrübung {ntu}',
  shut: 'zu',
  open: 'offen',
  'open: {emitter}': 'offen: {emitter}',
  'pass {number}': 'Durchgang {number}',
  'pass {number}: peak {ntu}': 'Durchgang {number}: Spitze {ntu}',
  'Minutes since each pass': 'Minuten seit dem Durchgang',
  'No pass of this visit yet: each pass of it will be drawn over the one before.':
    'Noch kein Durchgang an diesem Heizkörper: Jeder wird über den vorigen gezeichnet.',
  'The last passes of this visit, drawn over one another from the pass on':
    'Die letzten Durchgänge an diesem Heizkörper, übereinander gezeichnet ab dem Durchgang',
  'Open: {emitter}': 'Offen: {emitter}',
  Pass: 'Durchgang',
  Pulse: 'Puls',
  'still rising': 'steigt noch',
  'peak {ntu} NTU': 'Spitze {ntu} NTU',
  Clear: 'Klar',
  'No verdict': 'Kein Urteil',
  'No verdict: {why}': 'Kein Urteil: {why}',
  'Clear expected': 'Klar erwartet',
  'eight times in ten': 'in acht von zehn Fällen',
  'Marks of the chart': 'Marken des Verlaufs',
  'Minutes since this emitter was opened. Background {background}, clear under {clear}.':
    'Minuten, seit dieser Heizkörper geöffnet wurde. Grundtrübung {background}, klar unter {clear}.',
  Mark: 'Marke',
  From: 'Von',
  To: 'Bis',
  Figure: 'Wert',
  'goes on': 'dauert an',
  'No word from the bridge: what the chart shows is old.': 'Kein Wort von der Brücke: Was der Verlauf zeigt, ist alt.',
  'Turbidity {ntu} NTU': 'Trübung {ntu} NTU',
  '{count} pulses in this visit': '{count} Pulse an diesem Heizkörper',
  Turbidity: 'Trübung',
  Background: 'Grundtrübung',
  'Clear under': 'Klar unter',
  Flow: 'Durchfluss',
  Pressure: 'Druck',
  'Supply, return': 'Vorlauf, Rücklauf',
  Conductivity: 'Leitfähigkeit',
} as const;

export const catalogue: Catalogue = {
  decimal: ',',
  phrases: german,
  texts: deTexts,
  plain: dePlain,
  patterns: dePatterns,
};
