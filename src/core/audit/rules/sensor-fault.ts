import type { Gathered } from '../gather.ts';
import { hasSeen } from '../coverage.ts';
import type { Span } from '../finding.ts';
import { type Evidence, found, notApplicable, practice, rule } from '../rule.ts';
import { lengthOf } from '../stretch.ts';
import { lastingLetBy } from '../thresholds.ts';

/** Reasons for which a sensor is to blame; silence of the whole kit is a gap, and a still pump is no fault. */
const faults = ['turbidity-missing', 'stuck', 'dark', 'flow-missing'] as const;

export const sensorFault = rule({
  id: 'sensor-fault',
  title: 'Sensor fault',
  why: 'While a sensor fails no verdict can be given, and what it said before may be wrong too.',
  source: practice,
  severity: 'warning',
  thresholds: {
    forS: lastingLetBy,
  },
  judge: (run, { forS }) => {
    if (!hasSeen(run, 'turbidityNtu')) return notApplicable('no-turbidity');
    return found(
      faults.flatMap((cause): Evidence[] => {
        const spans = untoldFor(run, [cause]);
        const lastedS = lengthOf(spans);
        if (spans.length === 0 || lastedS <= forS) return [];
        return [{ subject: cause, params: { cause, lastedS }, spans, figures: { lastedS } }];
      }),
    );
  },
});

/** When nothing could be told for one of these reasons. */
export function untoldFor(run: Gathered, codes: readonly string[]): Span[] {
  return run.driven.spans
    .filter((s) => s.state === 'cannot-tell' && codes.includes(s.reason.code))
    .map((s): Span => [s.fromS, s.toS ?? run.endS]);
}
