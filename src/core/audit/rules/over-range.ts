import { hasSeen } from '../coverage.ts';
import { found, notApplicable, practice, rule } from '../rule.ts';
import { lengthOf } from '../stretch.ts';
import { untoldFor } from './sensor-fault.ts';
import { lastingLetBy } from '../thresholds.ts';

export const overRange = rule({
  id: 'over-range',
  title: 'Turbidity over the range of its sensor',
  why: 'Peaks and solids are larger than the record can say.',
  source: practice,
  severity: 'note',
  thresholds: {
    forS: lastingLetBy,
  },
  judge: (run, { forS }) => {
    if (!hasSeen(run, 'turbidityNtu')) return notApplicable('no-turbidity');
    const spans = untoldFor(run, ['over-range', 'folded']);
    const lastedS = lengthOf(spans);
    return found(
      spans.length === 0 || lastedS <= forS ? [] : [{ subject: '', params: { lastedS }, spans, figures: { lastedS } }],
    );
  },
});
