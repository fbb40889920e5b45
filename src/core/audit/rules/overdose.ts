import { overdoseShare } from '../../chemistry/dose.ts';
import { stageMissing } from '../coverage.ts';
import { found, notApplicable, practice, rule } from '../rule.ts';

export const overdose = rule({
  id: 'overdose',
  title: 'Far more added than the label wants',
  why: 'Too much cleaner attacks seals and metals and takes longer to rinse out; too much inhibitor helps no more. Both go down a drain.',
  source: practice,
  severity: 'warning',
  thresholds: {
    share: {
      default: overdoseShare,
      unit: 'of the label strength',
      about: 'most that is let by',
      least: 1,
      most: 100,
      looser: 'higher',
    },
  },
  judge: (run, { share }) => {
    const missing = stageMissing(run, 'dose');
    if (missing) return missing;
    const { job, worked } = run.driven;
    if (job.doses.length === 0) return notApplicable('no-cleaner');
    if (!worked.strength.cleaner && !worked.strength.inhibitor) return notApplicable('dose-share-untold');
    return found(
      (['cleaner', 'inhibitor'] as const).flatMap((what) => {
        const strength = worked.strength[what]?.value ?? 0;
        if (strength <= share) return [];
        return [
          {
            subject: what,
            stage: what === 'cleaner' ? ('dose' as const) : ('protect' as const),
            params: { what, litres: worked.added[what], percent: 100 * strength, mostPercent: 100 * share },
            spans: job.doses.filter((d) => d.what === what).map((d) => [d.timeS, d.timeS] as const),
            figures: { addedL: worked.added[what], strengthShare: strength, mostShare: share },
          },
        ];
      }),
    );
  },
});
