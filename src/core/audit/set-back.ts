import type { Span } from './finding.ts';
import type { LoggedEvent } from './record.ts';
import { secondsOfIso } from './wall-time.ts';

/** An entry that was kept, by the clock on the wall, before the one that it was kept after. */
export interface SetBack {
  /** From the entry before to this one, on the run's clock. */
  readonly span: Span;
  /** Below 0. */
  readonly byS: number;
}

/**
 * Where the clock on the wall was set back by more than `jumpS`. True of any run, whatever speed its own clock has; what
 * was imported or replayed bears the time of that.
 */
export function setBacks(entries: readonly LoggedEvent[], jumpS: number): SetBack[] {
  const found: SetBack[] = [];
  let before: { readonly timeS: number; readonly wallS: number } | null = null;
  for (const { event, who, wallAt } of entries) {
    const wallS = who === 'import' || who === 'replay' ? null : secondsOfIso(wallAt);
    if (wallS === null) continue;
    if (before && before.wallS - wallS > jumpS)
      found.push({ span: [before.timeS, event.timeS], byS: wallS - before.wallS });
    before = { timeS: event.timeS, wallS };
  }
  return found;
}
