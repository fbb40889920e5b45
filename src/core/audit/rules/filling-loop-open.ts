import { hasSeen } from '../coverage.ts';
import { noticed } from '../noticed.ts';
import { found, notApplicable, practice, rule } from '../rule.ts';

export const fillingLoopOpen = rule({
  id: 'filling-loop-open',
  title: 'Filling loop left open',
  why: 'Fresh water comes in without end: pressure climbs to the relief valve, and oxygen and hardness come with it.',
  source: practice,
  severity: 'serious',
  thresholds: {
    times: { default: 0, unit: 'times', about: 'so many are let by', least: 0, most: 1000, looser: 'higher' },
  },
  judge: (run, { times }) => {
    if (!hasSeen(run, 'pressureBar')) return notApplicable('no-pressure');
    return found(noticed(run, 'filling-loop-open', times));
  },
});
