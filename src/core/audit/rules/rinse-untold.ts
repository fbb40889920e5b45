import { hasSeen } from '../coverage.ts';
import { ofRinse } from '../of-rinse.ts';
import { found, notApplicable, rule } from '../rule.ts';

export const rinseUntold = rule({
  id: 'rinse-untold',
  title: 'End of the rinse could not be judged',
  why: 'Without a usable reading nobody knows whether the rinse reached mains level.',
  source: 'docs/method.md: "cannot tell" rather than a wrong "clear"',
  severity: 'warning',
  thresholds: {},
  judge: ofRinse((run, _, spans) => {
    if (!hasSeen(run, 'turbidityNtu')) return notApplicable('no-turbidity');
    const { rinse } = run.driven;
    if (rinse && !rinse.withheld && rinse.verdict.state !== 'cannot-tell') return found([]);
    const cause = rinse?.verdict.reason.code ?? 'silence';
    return found([{ subject: '', stage: 'rinse', params: { cause }, spans: spans, figures: {} }]);
  }),
});
