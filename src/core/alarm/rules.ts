import type { SampleKey } from '../quantity/channels.ts';

/** `urgent`: act at once. `prompt`: act now. `plain`: act when the hands are free. */
export type Priority = 'urgent' | 'prompt' | 'plain';

export const alarmKinds = [
  'kit-silent',
  'pressure-high',
  'leak',
  'too-hot',
  'no-flow',
  'mains-lost',
  'filling-loop',
  'chamber-full',
  'sensor',
  'window',
  'two-open',
  'never-clears',
] as const;
export type AlarmKind = (typeof alarmKinds)[number];

export function isAlarmKind(name: string): name is AlarmKind {
  return alarmKinds.some((kind) => kind === name);
}

export type LimitName = 'pressureBar' | 'hotC' | 'passes';

/** What turns an alarm on and off. */
export type Trigger =
  /** A hydraulic remark raises it; one of `clear` (remark or event name, `stage:` for any stage) ends it. */
  | { readonly by: 'remark'; readonly raise: string; readonly clear: readonly string[] }
  /** On while the verdict's reason is one of these. */
  | { readonly by: 'verdict'; readonly reasons: readonly string[] }
  /** On over the limit, off again under it by the dead band. */
  | { readonly by: 'above'; readonly keys: readonly SampleKey[]; readonly limit: LimitName; readonly deadBand: number }
  /** On when an emitter had so many passes and is not done. */
  | { readonly by: 'passes'; readonly limit: LimitName };

export interface AlarmRule {
  readonly kind: AlarmKind;
  readonly priority: Priority;
  readonly triggers: readonly Trigger[];
  /** Seconds that the condition must stand before it is told, and be gone before it ends. */
  readonly onS: number;
  readonly offS: number;
  /** Alarms that explain this one: while one of them stands this one is held back. */
  readonly causes: readonly AlarmKind[];
  /** Its end cannot be seen: it ends when it is acknowledged, and is told again if it comes again. */
  readonly endsOnAcknowledge: boolean;
}

export interface AlarmLimits {
  /** Sealed systems only; null switches it off. Half a bar under the usual relief valve: common practice, no source. */
  readonly pressureBar: number | null;
  /** Hottest water that hose and stage allow: from the hose's own sheet; the default is a guess, no source. */
  readonly hotC: number | null;
  /** Passes on one emitter after which going on alone is no plan: common practice, no source. */
  readonly passes: number | null;
}

export const alarmLimits: AlarmLimits = { pressureBar: 2.5, hotC: 75, passes: 8 };

const touched = ['stage:', 'emitter-open', 'emitter-shut', 'rig-pump-off'] as const;
/** Delays of 5 s on and 10 s off: a start from the practice of process alarms, no source. */
const usual = { onS: 5, offS: 10, endsOnAcknowledge: false };

/**
 * Every trouble that needs a hand. No kind more: what only informs is a notice, such as bubbles, a full scale that falls
 * back into range by itself, or flow that is back.
 */
export const alarmRules: readonly AlarmRule[] = [
  {
    kind: 'kit-silent',
    priority: 'prompt',
    triggers: [{ by: 'verdict', reasons: ['silence'] }],
    causes: [],
    ...usual,
    // The verdict has waited for the silence already; it explains the rest, so it must be there before it.
    onS: 3,
  },
  {
    kind: 'pressure-high',
    priority: 'urgent',
    triggers: [{ by: 'above', keys: ['pressureBar'], limit: 'pressureBar', deadBand: 0.15 }],
    causes: ['kit-silent'],
    ...usual,
    onS: 2,
  },
  {
    kind: 'leak',
    priority: 'prompt',
    triggers: [{ by: 'remark', raise: 'leak', clear: touched }],
    causes: ['kit-silent'],
    ...usual,
    // The remark is made over minutes; waiting again brings nothing.
    onS: 0,
    endsOnAcknowledge: true,
  },
  {
    kind: 'too-hot',
    priority: 'prompt',
    triggers: [{ by: 'above', keys: ['supplyC', 'returnC'], limit: 'hotC', deadBand: 4 }],
    causes: ['kit-silent'],
    ...usual,
  },
  {
    kind: 'no-flow',
    priority: 'plain',
    triggers: [
      { by: 'remark', raise: 'flow-stopped', clear: ['flow-back', 'rig-pump-off', 'stage:'] },
      { by: 'verdict', reasons: ['no-flow'] },
    ],
    causes: ['kit-silent', 'mains-lost'],
    ...usual,
  },
  {
    kind: 'mains-lost',
    priority: 'plain',
    triggers: [
      { by: 'remark', raise: 'mains-lost', clear: ['mains-back', 'stage:'] },
      { by: 'verdict', reasons: ['rinse-mains-lost'] },
    ],
    causes: ['kit-silent'],
    ...usual,
    // It explains no-flow, so it must be there first.
    onS: 2,
  },
  {
    kind: 'filling-loop',
    priority: 'plain',
    triggers: [{ by: 'remark', raise: 'filling-loop-open', clear: touched }],
    causes: ['kit-silent', 'pressure-high'],
    ...usual,
    onS: 0,
    endsOnAcknowledge: true,
  },
  {
    kind: 'chamber-full',
    priority: 'plain',
    triggers: [{ by: 'remark', raise: 'chamber-full', clear: ['chamber-emptied'] }],
    causes: ['kit-silent'],
    ...usual,
    onS: 0,
  },
  {
    kind: 'sensor',
    priority: 'plain',
    triggers: [{ by: 'verdict', reasons: ['turbidity-missing', 'stuck', 'dark', 'flow-missing'] }],
    causes: ['kit-silent', 'no-flow'],
    ...usual,
  },
  {
    kind: 'window',
    priority: 'plain',
    triggers: [{ by: 'remark', raise: 'window-fouling', clear: ['stage:'] }],
    causes: ['kit-silent', 'chamber-full', 'sensor'],
    ...usual,
    onS: 0,
    endsOnAcknowledge: true,
  },
  {
    kind: 'two-open',
    priority: 'plain',
    triggers: [{ by: 'remark', raise: 'two-open', clear: ['one-open', ...touched] }],
    causes: ['kit-silent'],
    ...usual,
    onS: 0,
    endsOnAcknowledge: true,
  },
  {
    kind: 'never-clears',
    priority: 'plain',
    triggers: [{ by: 'passes', limit: 'passes' }],
    causes: ['kit-silent', 'chamber-full', 'two-open'],
    ...usual,
  },
];
