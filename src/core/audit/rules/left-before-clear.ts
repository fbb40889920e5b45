import { eventsNamed } from '../gather.ts';
import { emitterOutcomes } from '../outcome.ts';
import { found, notApplicable, practice, rule } from '../rule.ts';
import { falseStart } from '../thresholds.ts';

export const leftBeforeClear = rule({
  id: 'left-before-clear',
  title: 'Emitter left before it was clear',
  why: 'Dirt that was set free and did not come out settles again, in this emitter or in the next.',
  source: practice,
  severity: 'serious',
  thresholds: {
    shortestS: falseStart,
  },
  judge: (run, { shortestS }) => {
    if (run.visits.length === 0) return notApplicable('no-visit');
    return found(
      emitterOutcomes(run).flatMap((e) => {
        const last = e.visits.at(-1);
        if (e.result !== 'not-clear' || !last) return [];
        const { visit, toS } = last;
        const heldS = toS - visit.fromS;
        if (visit.passesS.length === 0 && heldS < shortestS) return [];
        const overridden = eventsNamed(run, 'override').some(
          ({ event }) => event.emitter === e.id && event.timeS >= visit.fromS && event.timeS <= toS + 60,
        );
        // An override says why, and has a rule of its own.
        if (overridden) return [];
        const { excessNtu, limitNtu } = visit.verdict.reason.figures;
        return [
          {
            subject: `${e.id}/${visit.visit}`,
            emitter: e.id,
            stage: 'emitters' as const,
            params: { emitter: e.name, passes: visit.passesS.length, state: visit.verdict.state, heldS },
            spans: [[visit.fromS, toS] as const],
            figures: {
              passes: visit.passesS.length,
              heldS,
              ...(excessNtu === undefined ? {} : { excessNtu }),
              ...(limitNtu === undefined ? {} : { limitNtu }),
            },
          },
        ];
      }),
    );
  },
});
