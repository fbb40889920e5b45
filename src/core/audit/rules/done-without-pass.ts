import { emitterOutcomes } from '../outcome.ts';
import { found, notApplicable, practice, rule } from '../rule.ts';
import { falseStart } from '../thresholds.ts';

export const doneWithoutPass = rule({
  id: 'done-without-pass',
  title: 'Emitter finished with no pass',
  why: 'An emitter that was opened but never shaken keeps its sludge: clear water alone does not show that it is clean.',
  source: practice,
  severity: 'serious',
  thresholds: {
    shortestS: falseStart,
  },
  judge: (run, { shortestS }) => {
    if (run.visits.length === 0) return notApplicable('no-visit');
    if (run.input.entries.length === 0) return notApplicable('no-event');
    return found(
      emitterOutcomes(run).flatMap((e) => {
        if (e.result === 'skipped' || e.visits.length === 0) return [];
        const heldS = e.visits.reduce((sum, v) => sum + v.toS - v.visit.fromS, 0);
        const passes = e.visits.reduce((sum, v) => sum + v.visit.passesS.length, 0);
        // A pulse that no pass explains was a pass that nobody marked.
        const pulses = e.visits.flatMap((v) => v.visit.pulses).length;
        if (passes > 0 || pulses > 0 || heldS < shortestS || e.visits.some((v) => v.visit.toS === null)) return [];
        return [
          {
            subject: e.id,
            emitter: e.id,
            stage: 'emitters' as const,
            params: { emitter: e.name, heldS },
            spans: e.visits.map((v) => [v.visit.fromS, v.toS] as const),
            figures: { passes, heldS },
          },
        ];
      }),
    );
  },
});
