import { stageMissing } from '../coverage.ts';
import { found, practice, rule } from '../rule.ts';

export const inhibitorMissing = rule({
  id: 'inhibitor-missing',
  title: 'No inhibitor recorded',
  why: 'A clean system without protection corrodes again within weeks.',
  source: practice,
  severity: 'serious',
  thresholds: {},
  judge: (run) => {
    const missing = stageMissing(run, 'protect');
    if (missing) return missing;
    if (run.driven.job.doses.some((d) => d.what === 'inhibitor')) return found([]);
    const spans = run.stays.filter((s) => s.stage === 'protect').map((s) => [s.fromS, s.toS] as const);
    return found([{ subject: '', stage: 'protect', params: {}, spans, figures: {} }]);
  },
});
