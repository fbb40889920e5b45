import { alarmTexts } from './alarm.ts';
import { auditTexts } from './audit.ts';
import { calibrationTexts } from './calibration.ts';
import { changepointTexts } from './changepoint.ts';
import { chemistryTexts } from './chemistry.ts';
import { circuitTexts } from './circuit.ts';
import { fillTexts } from './fill.ts';
import { hubTexts } from './hub.ts';
import { hydraulicsTexts } from './hydraulics.ts';
import { lineTexts } from './line.ts';
import { mappingTexts } from './mapping.ts';
import { mqttTexts } from './mqtt.ts';
import { quantityTexts } from './quantity.ts';
import { recordingTexts } from './recording.ts';
import { reportTexts } from './report.ts';
import { runTexts } from './run.ts';
import { serverTexts } from './server.ts';
import { stageTexts } from './stage.ts';
import { storeTexts } from './store.ts';
import type { Texts } from './texts.ts';
import { transportTexts } from './transport.ts';
import { wireTexts } from './wire.ts';

/** A thing to tell a person, as data; the text is made at the edge from the tables beside this file. */
export interface Message {
  readonly code: string;
  readonly params: Readonly<Record<string, string | number>>;
}

const all: Texts = {
  ...alarmTexts,
  ...auditTexts,
  ...calibrationTexts,
  ...changepointTexts,
  ...chemistryTexts,
  ...circuitTexts,
  ...fillTexts,
  ...hubTexts,
  ...hydraulicsTexts,
  ...lineTexts,
  ...mappingTexts,
  ...mqttTexts,
  ...quantityTexts,
  ...recordingTexts,
  ...reportTexts,
  ...runTexts,
  ...serverTexts,
  ...stageTexts,
  ...storeTexts,
  ...transportTexts,
  ...wireTexts,
};

/** Says messages, and remembers by its text which message each was: from that a page says the same in its own language. */
export interface Teller {
  readonly say: (message: Message) => string;
  readonly said: Record<string, Message>;
}

export function createTeller(): Teller {
  const said: Record<string, Message> = {};
  return {
    said,
    say(message) {
      const text = say(message);
      // What is not known has no figure in JSON.
      const known = Object.entries(message.params).filter(([, v]) => typeof v === 'string' || Number.isFinite(v));
      said[text] = { code: message.code, params: Object.fromEntries(known) };
      return text;
    },
  };
}

/** One plain sentence (or two: what is wrong, what to do). An unknown code is shown as it is, with its params. */
export function say(message: Message): string {
  const text = all[message.code];
  return text ? text(message.params) : `${message.code} ${JSON.stringify(message.params)}`;
}

export const messageCodes: readonly string[] = Object.keys(all);
