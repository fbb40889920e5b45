import { hasSeen } from '../coverage.ts';
import { noticed } from '../noticed.ts';
import { found, notApplicable, practice, rule } from '../rule.ts';
import { timesLetBy } from '../thresholds.ts';

export const fillingLoopOpen = rule({
  id: 'filling-loop-open',
  title: 'Filling loop left open',
  why: 'Fresh water comes in without end: pressure climbs to the relief valve, and oxygen and hardness come with it.',
  source: practice,
  severity: 'serious',
  thresholds: {
    times: timesLetBy,
  },
  judge: (run, { times }) => {
    if (!hasSeen(run, 'pressureBar')) return notApplicable('no-pressure');
    return found(noticed(run, 'filling-loop-open', times));
  },
});
