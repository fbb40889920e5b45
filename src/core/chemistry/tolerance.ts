import { againstLimit, type Uncertain } from '../quantity/interval.ts';

/** Most cleaner, as a share of its dose, that the inhibitor stands: about a fifth. Common practice, no source. */
export const toleratedShare = 0.2;

export type ToleranceVerdict = 'tolerated' | 'too-much' | 'undecided' | 'not-binding' | 'not-measured';

/**
 * May the inhibitor go in? The remaining share of the cleaner against what the inhibitor stands. After a rinse that
 * reached mains level the check does not bind; it does when the rinse was cut short or overridden.
 */
export function toleranceOf(
  remaining: Uncertain | null,
  rinse: 'at-mains' | 'cut-short',
  limit: number = toleratedShare,
): ToleranceVerdict {
  if (rinse === 'at-mains') return 'not-binding';
  if (remaining === null || Number.isNaN(remaining.value)) return 'not-measured';
  const stands = againstLimit(remaining, limit);
  return stands === 'under' ? 'tolerated' : stands === 'over' ? 'too-much' : 'undecided';
}
