import { tellsWholeJob } from '../coverage.ts';
import { found, notApplicable, practice, rule } from '../rule.ts';

export const notHandedOver = rule({
  id: 'not-handed-over',
  title: 'Not signed and handed over',
  why: 'Nobody stands for the record with a name.',
  source: practice,
  severity: 'note',
  thresholds: {},
  judge: (run) => {
    if (!tellsWholeJob(run)) return notApplicable('part-recorded');
    const { job } = run.driven;
    if (job.handedOver) return found([]);
    if (job.stage !== 'end' && run.input.seal === null && run.input.chain !== null) return notApplicable('under-way');
    return found([{ subject: '', stage: 'hand-over', params: {}, spans: [], figures: {} }]);
  },
});
