import { stageMissing, timesOf } from './coverage.ts';
import type { Span } from './finding.ts';
import type { Gathered } from './gather.ts';
import { type Judged, notApplicable } from './rule.ts';

/** A rule of the rinse, held to where it was last; not to a run that tells nothing of it. */
export function ofRinse<T>(judge: (run: Gathered, thresholds: T, spans: readonly Span[]) => Judged) {
  return (run: Gathered, thresholds: T): Judged => {
    const missing = stageMissing(run, 'rinse');
    if (missing) return missing;
    const spans = timesOf(run, 'rinse').slice(-1);
    return spans.length === 0 ? notApplicable('stage-untold') : judge(run, thresholds, spans);
  };
}
