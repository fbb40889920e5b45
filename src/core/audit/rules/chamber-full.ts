import { hasSeen } from '../coverage.ts';
import { noticed } from '../noticed.ts';
import { found, notApplicable, practice, rule } from '../rule.ts';
import { timesLetBy } from '../thresholds.ts';

export const chamberFull = rule({
  id: 'chamber-full',
  title: 'Capture chamber full',
  why: 'A full chamber lets dirt go round again and chokes the flow.',
  source: practice,
  severity: 'warning',
  thresholds: {
    times: timesLetBy,
  },
  judge: (run, { times }) => {
    if (!hasSeen(run, 'flowLpm')) return notApplicable('no-flow');
    return found(noticed(run, 'chamber-full', times));
  },
});
