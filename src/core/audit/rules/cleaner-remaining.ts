import { toleranceOf, toleratedShare } from '../../chemistry/tolerance.ts';
import type { Uncertain } from '../../quantity/interval.ts';
import { stageMissing } from '../coverage.ts';
import type { Span } from '../finding.ts';
import type { Gathered } from '../gather.ts';
import { remainingAtEnd } from '../remaining.ts';
import { found, notApplicable, practice, rule } from '../rule.ts';

export const cleanerRemaining = rule({
  id: 'cleaner-remaining',
  title: 'More cleaner left than the inhibitor stands',
  why: 'Cleaner that stays in the water goes on attacking, and inhibitor added to it is wasted.',
  source: practice,
  severity: 'serious',
  thresholds: {
    share: {
      default: toleratedShare,
      unit: 'of the dose',
      about:
        'most that the inhibitor stands; after a rinse that reached mains level only a water test made since binds',
      least: 0,
      most: 1,
      looser: 'higher',
    },
  },
  judge: (run, { share }) => {
    const missing = stageMissing(run, 'rinse');
    if (missing) return missing;
    if (!run.driven.job.doses.some((d) => d.what !== 'inhibitor')) return notApplicable('no-cleaner');
    const isAtMains = run.driven.rinse?.verdict.state === 'clear';
    const sensed = isAtMains ? null : remainingAtEnd(run);
    const tested = testedAfter(run);
    if (!isAtMains && !sensed?.share && !tested) return notApplicable(sensed?.because ?? 'no-conductivity');
    // Where sensor and test differ the graver counts: neither has seen all of the water.
    const left = [...(sensed?.share ? [{ share: sensed.share, span: sensed.span }] : []), ...(tested ? [tested] : [])];
    const [most] = left.toSorted((a, b) => b.share.value - a.share.value);
    if (!most || toleranceOf(most.share, 'cut-short', share) !== 'too-much') return found([]);
    return found([
      {
        subject: '',
        stage: 'rinse',
        params: { percent: 100 * most.share.value, mostPercent: 100 * share },
        spans: [most.span],
        figures: { share: most.share.value, u: most.share.u, mostShare: share },
      },
    ]);
  },
});

/** By the water test that was made after the rinse, or null. */
function testedAfter({ driven: { job, worked } }: Gathered): { readonly share: Uncertain; readonly span: Span } | null {
  const timeS = job.entries['sample after']?.timeS;
  const { by, share } = worked.left;
  return by === 'test' && share && timeS !== undefined ? { share, span: [timeS, timeS] } : null;
}
