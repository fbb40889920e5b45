import { say } from '../../message/message.ts';
import { found, notApplicable, rule } from '../rule.ts';

export const recordBroken = rule({
  id: 'record-broken',
  title: 'Record was changed',
  why: 'What was changed after it was kept proves nothing any more, and neither does what stands beside it.',
  source: 'docs/recording.md: the chain and the seal',
  severity: 'serious',
  thresholds: {},
  judge: ({ input }) => {
    const { faults = [], seal, chain } = input;
    const [first] = faults;
    if (first || seal?.state === 'broken')
      return found([
        {
          subject: '',
          params: { places: faults.length, first: first ? say(first) : '' },
          spans: [],
          figures: { places: faults.length },
        },
      ]);
    return chain === null && seal === null ? notApplicable('unproved') : found([]);
  },
});
