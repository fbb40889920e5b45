import { emitterOutcomes } from '../outcome.ts';
import { found, notApplicable, rule } from '../rule.ts';

export const leftUntold = rule({
  id: 'left-untold',
  title: 'Emitter left while nothing could be told',
  why: 'Without a usable reading nobody knows whether the emitter was clear.',
  source: 'docs/method.md: "cannot tell" rather than a wrong "clear"',
  severity: 'warning',
  thresholds: {},
  judge: (run) => {
    if (run.visits.length === 0) return notApplicable('no-visit');
    return found(
      emitterOutcomes(run).flatMap((e) => {
        const last = e.visits.at(-1);
        if (e.result !== 'cannot-tell' || !last) return [];
        const { visit, toS } = last;
        return [
          {
            subject: `${e.id}/${visit.visit}`,
            emitter: e.id,
            stage: 'emitters' as const,
            params: { emitter: e.name, cause: visit.verdict.reason.code },
            spans: [[visit.fromS, toS] as const],
            figures: { passes: visit.passesS.length, heldS: toS - visit.fromS },
          },
        ];
      }),
    );
  },
});
