import { rinseEndOf } from '../../rinse/end.ts';
import { hasSeen } from '../coverage.ts';
import { ofRinse } from '../of-rinse.ts';
import { found, notApplicable, practice, rule } from '../rule.ts';
import { endedAt } from './rinse-above-mains.ts';

export const rinseBrief = rule({
  id: 'rinse-brief',
  title: 'Rinse ended under its limits, but too soon to tell',
  why: 'Water that reaches its limits for a moment may be followed by a late slug of the system\u2019s own.',
  source: practice,
  severity: 'warning',
  thresholds: {},
  judge: ofRinse((run, _, spans) => {
    if (!hasSeen(run, 'turbidityNtu')) return notApplicable('no-turbidity');
    const { rinse } = run.driven;
    if (!rinse || rinse.withheld || rinseEndOf(rinse.verdict) === 'untold') return notApplicable('rinse-untold');
    if (rinseEndOf(rinse.verdict) !== 'briefly') return found([]);
    return found([endedAt(rinse.verdict.reason, spans)]);
  }),
});
