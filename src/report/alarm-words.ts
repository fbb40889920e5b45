import { type AlarmKind, alarmRules } from '../core/alarm/rules.ts';

/** Alarms by name, without the figures of the moment: those stand in the readings. */
const words: Readonly<Record<AlarmKind, string>> = {
  'kit-silent': 'the kit was silent',
  'pressure-high': 'pressure high',
  leak: 'leak',
  'too-hot': 'water too hot',
  'no-flow': 'hardly any flow',
  'mains-lost': 'mains water stopped',
  'filling-loop': 'filling loop left open',
  'chamber-full': 'capture chamber full',
  sensor: 'turbidity sensor in trouble',
  'two-open': 'more than one emitter open',
  'never-clears': 'an emitter that does not come clear',
  window: 'the window of the turbidity sensor fouls',
};

export function alarmWords(kind: AlarmKind): string {
  return words[kind];
}

export function priorityOf(kind: AlarmKind): string {
  return alarmRules.find((r) => r.kind === kind)?.priority ?? 'plain';
}
