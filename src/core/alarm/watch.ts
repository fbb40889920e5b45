import { type AlarmLook, type ConditionMemory, conditionsOf, forget, freshMemory } from './conditions.ts';
import { type AlarmInput, type AlarmState, type AlarmStep, alarmStep, quietAlarms } from './machine.ts';
import { type AlarmKind, type AlarmLimits, alarmLimits, alarmRules } from './rules.ts';

/** All that alarms remember; plain data, to be kept with the run. */
export interface AlarmMemory {
  readonly conditions: ConditionMemory;
  readonly alarms: AlarmState;
}

export const freshAlarms: AlarmMemory = { conditions: freshMemory, alarms: quietAlarms };

export type WatchStep = Omit<AlarmStep, 'state'> & { readonly memory: AlarmMemory };

/** The limits of a run: an open-vented system has no relief valve to keep away from. */
export function limitsFor(system: 'sealed' | 'open-vented', own: Partial<AlarmLimits> = {}): AlarmLimits {
  const base = system === 'sealed' ? alarmLimits : { ...alarmLimits, pressureBar: null };
  return { ...base, ...own };
}

/** Look at the run once: about once a second, and at every remark. */
export function watchAlarms(memory: AlarmMemory, look: AlarmLook, limits: AlarmLimits): WatchStep {
  const seen = conditionsOf(look, memory.conditions, limits);
  const step = alarmStep(memory.alarms, { type: 'look', atS: look.atS, conditions: seen.conditions });
  return remembered(step, seen.memory);
}

/** What the engineer does with an alarm. */
export function handleAlarm(memory: AlarmMemory, input: Exclude<AlarmInput, { type: 'look' }>): WatchStep {
  const ends = input.type === 'acknowledge' && endsOnAcknowledge(input.kind);
  const conditions = ends ? forget(memory.conditions, input.kind) : memory.conditions;
  return remembered(alarmStep(memory.alarms, input), conditions);
}

function remembered({ state, sounds, rises, refusal }: AlarmStep, conditions: ConditionMemory): WatchStep {
  return { sounds, rises, refusal, memory: { conditions, alarms: state } };
}

function endsOnAcknowledge(kind: AlarmKind): boolean {
  return alarmRules.find((r) => r.kind === kind)?.endsOnAcknowledge === true;
}
