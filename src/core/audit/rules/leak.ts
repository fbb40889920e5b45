import { hasSeen } from '../coverage.ts';
import { noticed } from '../noticed.ts';
import { found, notApplicable, practice, rule } from '../rule.ts';
import { timesLetBy } from '../thresholds.ts';

export const leak = rule({
  id: 'leak',
  title: 'Leak seen',
  why: 'Water gets out: damage, and inhibitor that is topped away.',
  source: practice,
  severity: 'serious',
  thresholds: {
    times: timesLetBy,
  },
  judge: (run, { times }) => {
    if (!hasSeen(run, 'pressureBar')) return notApplicable('no-pressure');
    return found(noticed(run, 'leak', times));
  },
});
