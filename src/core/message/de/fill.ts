import type { fillTexts } from '../fill.ts';
import { asFigured, n, type Text } from './figure.ts';

/** Filling and the pressure hold in German, by code. */
export const fillDe: Record<keyof typeof fillTexts, Text> = {
  'compliance-too-short': (p) =>
    `Das Ende des Füllens war nur über ${n(p['spanBar'], 2)} bar in ${p['points']} Messwerten zu sehen; ${asFigured(p['leastBar'])} bar sind nötig. Lecks werden nur in bar/min gesagt.`,
  'compliance-not-rising': () =>
    'Der Druck stieg nicht mit den gefüllten Litern, also sind Liter je bar unbekannt. Lecks werden nur in bar/min gesagt.',
  'hold-too-short': (p) =>
    `Die Druckprobe dauerte ${n(p['lastedS'], 0)} s mit ${p['readings']} Druckwerten; mindestens ${p['leastS']} s sind nötig. Weiter halten.`,
  'hold-open-vented': () =>
    'Eine offene Anlage hält keinen eigenen Druck, also gibt es keine Druckprobe. Nach den Verbindungen und dem Stand im Ausgleichsgefäß sehen.',
  'hold-leak': (p) =>
    `Der Druck fällt ${n(p['barPerMin'], 3)} ± ${n(p['uBarPerMin'], 3)} bar/min mehr, als die Temperatur erklärt${
      p['mlPerMin'] === undefined ? '' : `: ${n(p['mlPerMin'], 0)} ml/min`
    }. Das Leck suchen, bevor es weitergeht.`,
  'hold-rising': (p) =>
    `Der Druck steigt ${n(p['barPerMin'], 3)} bar/min mehr, als die Temperatur erklärt: Wasser kommt herein. Den Füllschlauch schließen.`,
  'hold-none-seen': (p) =>
    `Kein Leck zu sehen; eines von ${n(p['leastSeenBarPerMin'], 3)} bar/min wäre zu sehen gewesen.`,
  'hold-too-uncertain': (p) =>
    `Noch nicht sicher: Ein Leck unter ${n(p['leastSeenBarPerMin'], 3)} bar/min wäre nicht zu sehen. Weiter halten, ohne zu heizen.`,
};
