import { percent, type Texts } from './texts.ts';

type Params = Readonly<Record<string, string | number>>;

/** A figure with as many decimals as a reading of its size deserves; a dash where there is none. */
function figure(value: string | number | undefined): string {
  if (typeof value !== 'number') return value ?? '–';
  const size = Math.abs(value);
  return value.toFixed(size < 10 ? 1 : 0);
}

/** Scatter can put a reading under the background, and a fit the background under nought; nobody is told of less than none. */
function over(value: string | number | undefined): string {
  return figure(typeof value === 'number' ? Math.max(0, value) : value);
}

function standing(p: Params): string {
  return `${over(p['excessNtu'])} NTU over a background of ${over(p['backgroundNtu'])}`;
}

function rinse(p: Params): string {
  return `${figure(p['turbidityNtu'])} NTU (limit ${figure(p['turbidityLimitNtu'])}), ${figure(p['conductivityUsCm'])} µS/cm (limit ${figure(p['conductivityLimitUsCm'])})`;
}

function detection(p: Params): string {
  return p['detectionNtu'] === undefined ? '' : ` (limit of detection ${figure(p['detectionNtu'])} NTU)`;
}

function flowed(p: Params): string {
  const reckoned =
    p['reckonedLpm'] === undefined ? '' : ` (no flow sensor: reckoned at ${figure(p['reckonedLpm'])} l/min)`;
  const since = p['sinceOpening'] === undefined ? 'the last pass' : 'it was opened';
  return `${figure(p['litresSincePassL'])} l since ${since}, ${figure(p['litresNeededL'])} l needed${reckoned}`;
}

/** Sentences of the line room, by code. */
export const lineTexts = {
  idle: () => 'No emitter is being worked on.',
  passing: () => 'A pass is under way.',
  arriving: (p) =>
    `The dirt of this pass is coming through${p['ntu'] === undefined ? '' : `: ${figure(p['ntu'])} NTU now`}.`,
  'not-answered': (p) => `The water of the last pass has not come by yet: ${flowed(p)}.`,
  'no-water-yet': (p) =>
    `No pass has been marked yet; ${figure(p['litresSincePassL'])} l since it was opened, ${figure(p['litresNeededL'])} l needed.`,
  'untold-to-come': (p) =>
    `A pulse came that no pass explains: if you shook, the rest of its water is still on its way; ${standing(p)}.`,
  'no-pass-yet': (p) => `${standing(p)}; no pass has been marked yet.`,
  'over-limit': (p) => `${standing(p)}, not yet surely under ${figure(p['limitNtu'])}; ${flowed(p)}.`,
  'rest-to-come': (p) =>
    `${standing(p)}, but about ${percent(p['restShare'])} of what was set free is still to come${p['restLimit'] === undefined ? '' : `; it must surely be under ${percent(p['restLimit'])}`}.`,
  'echo-to-come': (p) =>
    `${standing(p)}, but about ${figure(p['echoNtu'])} NTU that passed the chambers comes round again in ${figure(p['echoInL'])} l.`,
  rising: (p) => `${standing(p)}, but the reading rises: wait until it stands or falls.`,
  'seeing-again': (p) => `Readings have only just come back: ${standing(p)}.`,
  'risen-again': (p) => `Risen again: ${standing(p)}, ${figure(p['limitNtu'])} is the limit.`,
  'clear-afterwards': () => 'Seen afterwards: from then on it stayed under its limit until the emitter was shut.',
  'not-clear-afterwards': () => 'Seen afterwards: it did not stay under its limit until the emitter was shut.',
  clear: (p) => `Turned clear at ${standing(p)}; ${flowed(p)}.`,
  done: (p) =>
    `The last pass brought nothing more that shows${detection(p)}. Turned clear at ${standing(p)}; ${flowed(p)}.`,
  silence: (p) => `The kit is silent for more than ${figure(p['silentS'])} s. Check its cable and supply.`,
  'turbidity-missing': () => 'The turbidity sensor sends nothing. Check its plug.',
  'over-range': () => 'Turbidity is over the range of its sensor. Wait until it falls back into range.',
  folded: () =>
    'Turbidity was over the range of its sensor, which can then read too low. Wait until it falls evenly within the range.',
  restarted: () => 'The bridge was off, and nobody saw what went by. It looks again for some seconds.',
  fouling: () =>
    'Turbidity climbs in a straight line: a film on the sensor’s window or a climbing background. Wipe the window, look at the chambers.',
  'other-kit': () => 'Another kit reads now, with a zero of its own. Make a pass: from there on its readings count.',
  stuck: () => 'The turbidity reading does not move at all. Check the sensor.',
  dark: () => 'The turbidity sensor sees no light. Check its lamp and window.',
  'flow-missing': () => 'The flow sensor sends nothing, so the litres since the pass are unknown. Check its plug.',
  'no-flow': () => 'No flow: nothing new reaches the sensor. Check pump, valves and hoses.',
  'rinse-at-mains': (p) => `At mains level: ${rinse(p)}.`,
  'rinse-turbidity-only': (p) =>
    `Turbidity is at mains level: ${figure(p['turbidityNtu'])} NTU (limit ${figure(p['turbidityLimitNtu'])}). Conductivity is not measured, so test a sample for cleaner by hand.`,
  'rinse-seen-briefly': (p) => `Within its limits, but seen for a few seconds only: ${rinse(p)}.`,
  'rinse-over-mains': (p) => `Not at mains level yet: ${rinse(p)}.`,
  'rinse-water-to-come': (p) =>
    `Another emitter was opened: its own water comes in about ${figure(p['waitL'])} l. Now ${figure(p['turbidityNtu'])} NTU.`,
  'rinse-too-coarse': (p) =>
    `The turbidity sensor moves in steps of ${figure(p['stepNtu'])} NTU and cannot show ${figure(p['turbidityLimitNtu'])} NTU. Hold a sample beside mains water, or measure it with a finer instrument.`,
  'rinse-mains-lost': () => 'The mains water has stopped: the rinse is paused.',
} satisfies Texts;
