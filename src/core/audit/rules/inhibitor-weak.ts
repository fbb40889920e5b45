import { typedFigure } from '../../job/stages/stage.ts';
import { stageMissing } from '../coverage.ts';
import { found, notApplicable, rule } from '../rule.ts';

export const inhibitorWeak = rule({
  id: 'inhibitor-weak',
  title: 'Inhibitor under its label strength',
  why: 'Under its strength an inhibitor may protect in part, which can be worse than none: corrosion gathers in spots.',
  source: 'the label’s rate, as typed in; the share let by is common practice, no source',
  severity: 'warning',
  thresholds: {
    share: {
      default: 0.9,
      unit: 'of the label strength',
      about: 'least strength, allowing for the uncertainty of the volume',
      least: 0,
      most: 1,
      looser: 'lower',
    },
  },
  judge: (run, { share }) => {
    const missing = stageMissing(run, 'protect');
    if (missing) return missing;
    const { job, worked } = run.driven;
    const dose = job.doses.findLast((d) => d.what === 'inhibitor');
    if (!dose) return notApplicable('no-inhibitor');
    const tested = typedFigure(job, 'inhibitor-strength');
    const reckoned = worked.strength.inhibitor;
    if (tested === null && reckoned === null) return notApplicable('strength-untold');
    // A test of the water says more than a sum of litres.
    const strength = tested === null ? (reckoned?.value ?? 0) : tested / 100;
    const upper = tested === null ? strength + 2 * (reckoned?.u ?? 0) : strength;
    if (upper >= share) return found([]);
    return found([
      {
        subject: '',
        stage: 'protect',
        params: { percent: 100 * strength, leastPercent: 100 * share, how: tested === null ? 'reckoned' : 'tested' },
        spans: [[dose.timeS, dose.timeS]],
        figures: { strengthShare: strength, leastShare: share },
      },
    ]);
  },
});
