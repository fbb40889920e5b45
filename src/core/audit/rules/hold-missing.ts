import { stageMissing, timesOf } from '../coverage.ts';
import { found, notApplicable, practice, rule } from '../rule.ts';

export const holdMissing = rule({
  id: 'hold-missing',
  title: 'Joined without a pressure hold',
  why: 'A leak at a hose shows in minutes of holding, or else in the middle of the work.',
  source: practice,
  severity: 'note',
  thresholds: {},
  judge: (run) => {
    if (run.driven.context.system === 'open-vented') return notApplicable('open-vented');
    const missing = stageMissing(run, 'join');
    if (missing) return missing;
    const spans = timesOf(run, 'join');
    if (spans.length === 0) return notApplicable('stage-untold');
    if (run.driven.job.hold) return found([]);
    return found([{ subject: '', stage: 'join', params: {}, spans, figures: {} }]);
  },
});
