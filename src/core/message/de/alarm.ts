import type { alarmTexts } from '../alarm.ts';
import { n, type Text } from './figure.ts';

/** Alarms in German: what is wrong, `-do` what to do, `-else` what happens if not. */
export const alarmDe: Record<keyof typeof alarmTexts, Text> = {
  'alarm-kit-silent': () => 'Der Messkoffer schweigt.',
  'alarm-kit-silent-do': () =>
    'Nach Stromversorgung und Kabel sehen. Sobald er wieder da ist, geht das Lesen von selbst weiter.',
  'alarm-kit-silent-else': () => 'Bis dahin wird nichts gesehen und kein Urteil gegeben.',
  'alarm-pressure-high': (p) => `Der Druck ist ${n(p['value'], 2)} bar, über ${n(p['limit'], 2)} bar.`,
  'alarm-pressure-high-do': () => 'Füllschlauch schließen, nicht weiter heizen, Wasser in den Abfluss lassen.',
  'alarm-pressure-high-else': () => 'Das Sicherheitsventil öffnet.',
  'alarm-leak': (p) =>
    `Der Druck fällt um ${n(p['barPerMin'], 3)} bar/min${p['mlPerMin'] === undefined ? '' : ` (${n(p['mlPerMin'], 0)} ml/min)`}, schneller als die Abkühlung erklärt.`,
  'alarm-leak-do': () => 'Pumpe anhalten und nach jeder Verbindung, jedem Schlauch und Ventil sehen.',
  'alarm-leak-else': () => 'Wasser läuft ins Gebäude.',
  'alarm-too-hot': (p) => `Das Wasser hat ${n(p['value'], 0)} °C, über ${n(p['limit'], 0)} °C.`,
  'alarm-too-hot-do': () => 'Nicht weiter heizen. Hände weg von den Schläuchen: Heißes Wasser verbrüht in Sekunden.',
  'alarm-too-hot-else': () => 'Verbrühungen; ein Schlauch kann nachgeben.',
  'alarm-no-flow': () => 'Das Wasser fließt kaum.',
  'alarm-no-flow-do': () => 'Pumpe, Ventile und Schläuche auf einen Knick prüfen.',
  'alarm-no-flow-else': () => 'Nichts wird fortgetragen und kein Urteil gegeben.',
  'alarm-mains-lost': () => 'Das Netzwasser ist ausgeblieben.',
  'alarm-mains-lost-do': () => 'Absperrhahn und Schlauch prüfen. Das Nachspülen ruht und geht von selbst weiter.',
  'alarm-mains-lost-else': () => 'Das Nachspülen endet nicht.',
  'alarm-filling-loop': (p) => `Der Druck steigt um ${n(p['barPerMin'], 3)} bar/min, ohne dass geheizt wird.`,
  'alarm-filling-loop-do': () => 'Füllschlauch schließen und abnehmen.',
  'alarm-filling-loop-else': () => 'Der Druck erreicht das Sicherheitsventil, und der Reiniger wird verdünnt.',
  'alarm-chamber-full': () => 'Die Fangkammer ist voll: Der Durchfluss sinkt, die Grundtrübung steigt.',
  'alarm-chamber-full-do': () => 'Die Fangkammer jetzt leeren und es sagen.',
  'alarm-chamber-full-else': () => 'Schmutz läuft wieder um, statt gefangen zu werden.',
  'alarm-sensor': () => 'Ein Fühler gibt keinen brauchbaren Wert.',
  'alarm-sensor-do': () => 'Nach Stecker und Fenster sehen. Der Grund steht beim Urteil.',
  'alarm-sensor-else': () => 'Kein Urteil wird gegeben.',
  'alarm-window': (p) => `Die Anzeige steigt stetig ohne Freisetzung, ${n(p['ntuPerMin'], 1)} NTU in der Minute.`,
  'alarm-window-do': () => 'Fenster des Trübungsfühlers abwischen; auch nach der Fangkammer sehen.',
  'alarm-window-else': () => 'Klar wird spät gesagt, oder der Belag wird für Schmutz gehalten.',
  'alarm-two-open': (p) =>
    `Der Durchfluss ist ${n(p['flowLpm'], 1)} l/min; dieser Heizkörper allein sollte etwa ${n(p['aloneLpm'], 1)} l/min geben.`,
  'alarm-two-open-do': () =>
    'Mehr als ein Heizkörper scheint offen: die anderen schließen (oder läuft die Pumpe schneller?).',
  'alarm-two-open-else': () => 'Der Durchfluss teilt sich, und dieser Heizkörper wird nicht sauber.',
  'alarm-never-clears': (p) => `Nach ${n(p['passes'], 0)} Durchgängen kommt immer noch Schmutz.`,
  'alarm-never-clears-do': () =>
    'Den Reiniger einwirken lassen, den Durchfluss umkehren, oder den Heizkörper abnehmen und auswaschen; oder weitergehen und wiederkommen.',
  'alarm-never-clears-else': () => 'Durchgänge allein dauern lange: siehe die Vorhersage.',
  'alarm-chattering': (p) => `${p['alarm']} Kommt und geht: einmal gesagt, bis eine Minute Ruhe war.`,
  'shelve-minutes': (p) => `Ein Alarm lässt sich für ${p['allowed']} Minuten zurückstellen, nicht für ${p['found']}.`,
  'shelve-urgent': (p) =>
    `Dieser Alarm (${p['kind']}) ist dringend und lässt sich nicht zurückstellen. Tun Sie, was er sagt.`,
};
