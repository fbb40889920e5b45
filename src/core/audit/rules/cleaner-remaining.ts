import { toleranceOf, toleratedShare } from '../../chemistry/tolerance.ts';
import { stageMissing } from '../coverage.ts';
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
      about: 'most that the inhibitor stands; it binds when the rinse did not reach mains level',
      least: 0,
      most: 1,
      looser: 'higher',
    },
  },
  judge: (run, { share }) => {
    const missing = stageMissing(run, 'rinse');
    if (missing) return missing;
    if (!run.driven.job.doses.some((d) => d.what !== 'inhibitor')) return notApplicable('no-cleaner');
    const { rinse } = run.driven;
    const isAtMains = rinse?.verdict.state === 'clear';
    const remaining = remainingAtEnd(run);
    const verdict = toleranceOf(remaining?.share ?? null, isAtMains ? 'at-mains' : 'cut-short', share);
    if (verdict === 'not-measured') return notApplicable(remaining?.because ?? 'no-conductivity');
    if (verdict !== 'too-much' || !remaining?.share) return found([]);
    return found([
      {
        subject: '',
        stage: 'rinse',
        params: { percent: 100 * remaining.share.value, mostPercent: 100 * share },
        spans: [remaining.span],
        figures: { share: remaining.share.value, u: remaining.share.u, mostShare: share },
      },
    ]);
  },
});
