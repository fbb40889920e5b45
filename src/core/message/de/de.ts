import type { Texts } from '../texts.ts';
import { alarmDe } from './alarm.ts';
import { hydraulicsDe } from './hydraulics.ts';
import { lineDe } from './line.ts';
import { runDe } from './run.ts';

/** German of the sentences that a page beside the rig shows, by code; what is not here is said in English. */
export const deTexts: Texts = { ...alarmDe, ...hydraulicsDe, ...lineDe, ...runDe };
