import { nameOf } from '../outcome.ts';
import { found, notApplicable, rule } from '../rule.ts';

export const stayedAfterDone = rule({
  id: 'stayed-after-done',
  title: 'Went on with an emitter that was done',
  why: 'Time that another emitter could have had.',
  source: 'the tool’s own purpose: no hour on an emitter that is already clear',
  severity: 'note',
  thresholds: {
    forS: {
      default: 300,
      unit: 's',
      about: 'from the moment it was told done until it was shut',
      least: 0,
      most: 7200,
      looser: 'higher',
    },
  },
  judge: (run, { forS }) => {
    if (run.visits.length === 0) return notApplicable('no-visit');
    return found(
      run.visits.flatMap(({ visit, toS }) => {
        // Only the done that stood to the end: one that was withdrawn by another pass was not waste.
        const span = run.driven.spans.findLast((s) => s.fromS >= visit.fromS && s.fromS < toS);
        if (!span?.done || visit.toS === null || toS - span.fromS <= forS) return [];
        return [
          {
            subject: `${visit.emitter}/${visit.visit}`,
            emitter: visit.emitter,
            stage: 'emitters' as const,
            params: { emitter: nameOf(run, visit.emitter), stayedS: toS - span.fromS },
            spans: [[span.fromS, toS] as const],
            figures: { stayedS: toS - span.fromS },
          },
        ];
      }),
    );
  },
});
