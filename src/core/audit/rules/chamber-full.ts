import { hasSeen } from '../coverage.ts';
import { noticed } from '../noticed.ts';
import { found, notApplicable, practice, rule } from '../rule.ts';

export const chamberFull = rule({
  id: 'chamber-full',
  title: 'Capture chamber full',
  why: 'A full chamber lets dirt go round again and chokes the flow.',
  source: practice,
  severity: 'warning',
  thresholds: {
    times: { default: 0, unit: 'times', about: 'so many are let by', least: 0, most: 1000, looser: 'higher' },
  },
  judge: (run, { times }) => {
    if (!hasSeen(run, 'flowLpm')) return notApplicable('no-flow');
    return found(noticed(run, 'chamber-full', times));
  },
});
