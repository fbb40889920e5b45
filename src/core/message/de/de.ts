import type { Texts } from '../texts.ts';
import { alarmDe } from './alarm.ts';

import { fillDe } from './fill.ts';
import { hydraulicsDe } from './hydraulics.ts';
import { lineDe } from './line.ts';
import { mappingDe } from './mapping.ts';
import { mqttDe } from './mqtt.ts';
import { reportDe } from './report.ts';
import { runDe } from './run.ts';
import { serverDe } from './server.ts';
import { stageDe } from './stage.ts';
import { storeDe } from './store.ts';
import { transportDe } from './transport.ts';
import { chemistryDe, circuitDe, quantityDe } from './water.ts';
import { wireDe } from './wire.ts';

/**
 * German of the sentences that a page beside the rig can show, by code. The command line and the pages of the office are
 * in English; `tests/dashboards/shared/german-codes.test.ts` lists what is said there alone.
 */
export const deTexts: Texts = {
  ...alarmDe,
  ...chemistryDe,
  ...circuitDe,
  ...fillDe,
  ...hydraulicsDe,
  ...lineDe,
  ...mappingDe,
  ...mqttDe,
  ...quantityDe,
  ...reportDe,
  ...runDe,
  ...serverDe,
  ...stageDe,
  ...storeDe,
  ...transportDe,
  ...wireDe,
  'not-calibrated': () =>
    'Die Trübung ist nicht kalibriert: Die Nachweisgrenze ist 3 x Rauschen + eine Stufe. Auf der Seite des Messkoffers kalibrieren.',
  'calibration-overdue': () =>
    'Die Kalibrierung der Trübung ist überfällig: Sie gilt noch. Den Messkoffer neu kalibrieren.',
};
