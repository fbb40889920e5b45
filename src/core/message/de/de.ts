import type { Texts } from '../texts.ts';
import { alarmDe } from './alarm.ts';
import { fillDe } from './fill.ts';
import { hydraulicsDe } from './hydraulics.ts';
import { lineDe } from './line.ts';
import { runDe } from './run.ts';
import { serverDe } from './server.ts';
import { stageDe } from './stage.ts';

/** German of the sentences that a page beside the rig shows, by code; what is not here is said in English. */
export const deTexts: Texts = {
  ...alarmDe,
  ...fillDe,
  ...hydraulicsDe,
  ...lineDe,
  ...runDe,
  ...serverDe,
  ...stageDe,
  'not-calibrated': () =>
    'Die Trübung ist nicht kalibriert: Die Nachweisgrenze ist 3 x Rauschen + eine Stufe. Auf der Seite des Messkoffers kalibrieren.',
  'calibration-overdue': () =>
    'Die Kalibrierung der Trübung ist überfällig: Sie gilt noch. Den Messkoffer neu kalibrieren.',
};
