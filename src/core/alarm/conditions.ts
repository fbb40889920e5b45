import { type AlarmKind, type AlarmLimits, type AlarmRule, alarmRules, type Trigger } from './rules.ts';
import type { SampleKey } from '../quantity/channels.ts';

type Figures = Readonly<Record<string, number>>;

/** What the rest of the core says at one instant. */
export interface AlarmLook {
  readonly atS: number;
  readonly sample: Readonly<Partial<Record<SampleKey, number | null>>>;
  /** Reason of the verdict shown now; null without one. */
  readonly verdict: { readonly code: string; readonly figures: Figures } | null;
  /** Hydraulic remarks made since the last look. */
  readonly remarks: readonly { readonly code: string; readonly figures: Figures }[];
  /** Names of events since the last look. */
  readonly events: readonly string[];
  /** The emitter open now. */
  readonly visit: { readonly passes: number; readonly isDone: boolean } | null;
}

/** Whether each condition stands, before any delay. `null`: cannot be seen now, so what was stays. */
export interface Condition {
  readonly isOn: boolean | null;
  readonly figures: Figures;
  /** The code behind it, for a sentence that says which of several causes it is. */
  readonly because: string;
}
export type Conditions = Readonly<Partial<Record<AlarmKind, Condition>>>;

/** What must be remembered between looks: remarks that stand, and on which side of a dead band a value was. */
export interface ConditionMemory {
  readonly raised: Readonly<Record<string, { readonly figures: Figures }>>;
  readonly isOver: Readonly<Record<string, boolean>>;
}

export const freshMemory: ConditionMemory = { raised: {}, isOver: {} };

const off: Condition = { isOn: false, figures: {}, because: '' };
const unseen: Condition = { ...off, isOn: null };

export function conditionsOf(
  look: AlarmLook,
  memory: ConditionMemory,
  limits: AlarmLimits,
  rules: readonly AlarmRule[] = alarmRules,
): { readonly conditions: Conditions; readonly memory: ConditionMemory } {
  const next: Next = { raised: memory.raised, isOver: memory.isOver };
  const conditions: Partial<Record<AlarmKind, Condition>> = {};
  for (const rule of rules) {
    let told = off;
    for (const t of rule.triggers) {
      const part = partOf(t, rule.kind, look, limits, next);
      // A cause that stands is told whatever the others say; a cause that cannot be seen leaves the matter open.
      if ((part.isOn === true && told.isOn !== true) || (part.isOn === null && told.isOn === false)) told = part;
    }
    conditions[rule.kind] = told;
  }
  return { conditions, memory: next };
}

/** A remark was acknowledged whose end cannot be seen: it no longer stands. */
export function forget(memory: ConditionMemory, kind: AlarmKind): ConditionMemory {
  const raised = { ...memory.raised };
  delete raised[kind];
  return { ...memory, raised };
}

/** The memory as the next look finds it; its parts are replaced where they change, for in most seconds none does. */
interface Next {
  raised: ConditionMemory['raised'];
  isOver: ConditionMemory['isOver'];
}

function partOf(t: Trigger, kind: AlarmKind, look: AlarmLook, limits: AlarmLimits, next: Next): Condition {
  switch (t.by) {
    case 'remark': {
      if (look.events.length > 0 || look.remarks.length > 0) next.raised = raisedNow(t, kind, look, next.raised);
      const standing = next.raised[kind];
      return standing ? { isOn: true, figures: standing.figures, because: t.raise } : off;
    }
    case 'verdict': {
      if (!look.verdict || !t.reasons.includes(look.verdict.code)) return off;
      return { isOn: true, figures: look.verdict.figures, because: look.verdict.code };
    }
    case 'above': {
      const limit = limits[t.limit];
      if (limit === null) return off;
      let value = Number.NEGATIVE_INFINITY;
      for (const k of t.keys) value = Math.max(value, look.sample[k] ?? Number.NEGATIVE_INFINITY);
      if (value === Number.NEGATIVE_INFINITY) return unseen;
      const over = value > (next.isOver[kind] ? limit - t.deadBand : limit);
      if (over !== next.isOver[kind]) next.isOver = { ...next.isOver, [kind]: over };
      return over ? { isOn: true, figures: { value, limit }, because: t.limit } : off;
    }
    case 'passes': {
      const limit = limits[t.limit];
      if (limit === null || !look.visit || look.visit.isDone || look.visit.passes < limit) return off;
      return { isOn: true, figures: { passes: look.visit.passes }, because: t.limit };
    }
  }
}

/** What stands after the events and remarks of this look. */
function raisedNow(
  t: Extract<Trigger, { by: 'remark' }>,
  kind: AlarmKind,
  { events, remarks }: AlarmLook,
  before: ConditionMemory['raised'],
): ConditionMemory['raised'] {
  const ends = (name: string): boolean => t.clear.some((c) => (c.endsWith(':') ? name.startsWith(c) : name === c));
  const raised = { ...before };
  if (events.some(ends)) delete raised[kind];
  // In their order: lost and back within one look is back.
  for (const r of remarks) {
    if (r.code === t.raise) raised[kind] = { figures: r.figures };
    else if (ends(r.code)) delete raised[kind];
  }
  return raised;
}
