import { type AlarmEntry, type AlarmState, isStanding } from './machine.ts';
import { type AlarmKind, type AlarmRule, alarmRules, type Priority } from './rules.ts';

export interface ListedAlarm {
  readonly kind: AlarmKind;
  readonly priority: Priority;
  readonly entry: AlarmEntry;
  readonly isFirstUp: boolean;
}

export interface AlarmList {
  /** At most three. */
  readonly shown: readonly ListedAlarm[];
  /** How many more stand. */
  readonly more: number;
  readonly shelved: readonly { readonly kind: AlarmKind; readonly untilS: number }[];
}

const mostShown = 3;
const rank: Readonly<Record<Priority, number>> = { urgent: 0, prompt: 1, plain: 2 };

/**
 * What the page lists. The first of the burst is on top until it is handled; an urgent one is never pushed off the
 * list. Then by priority, then what nobody has seen, then the older. What a standing cause explains is not listed.
 */
export function alarmList(state: AlarmState, rules: readonly AlarmRule[] = alarmRules): AlarmList {
  const standing = rules
    .filter((r) => isStanding(state.entries[r.kind]) && !r.causes.some((c) => state.entries[c].isOn))
    .map((r) => ({
      kind: r.kind,
      priority: r.priority,
      entry: state.entries[r.kind],
      isFirstUp: r.kind === state.firstUp,
    }))
    .sort(
      (a, b) =>
        Number(b.isFirstUp) - Number(a.isFirstUp) ||
        rank[a.priority] - rank[b.priority] ||
        Number(a.entry.life === 'acked') - Number(b.entry.life === 'acked') ||
        a.entry.order - b.entry.order,
    );
  const shelved = rules.flatMap((r) => {
    const untilS = state.entries[r.kind].shelvedUntilS;
    return untilS === null ? [] : [{ kind: r.kind, untilS }];
  });
  return { shown: standing.slice(0, mostShown), more: Math.max(0, standing.length - mostShown), shelved };
}
