import { emitterOutcomes } from '../outcome.ts';
import { found, notApplicable, practice, rule } from '../rule.ts';

export const passesLow = rule({
  id: 'passes-low',
  title: 'Too few passes',
  why: 'Passes go on until one brings nothing. After fewer, the next one might have brought more.',
  source: practice,
  severity: 'warning',
  thresholds: {
    passes: {
      default: 2,
      unit: 'passes',
      about: 'least on an emitter whose last pass still brought dirt',
      least: 1,
      most: 20,
      looser: 'lower',
    },
  },
  judge: (run, { passes: least }) => {
    if (run.visits.length === 0) return notApplicable('no-visit');
    if (run.input.entries.length === 0) return notApplicable('no-event');
    return found(
      emitterOutcomes(run).flatMap((e) => {
        const passes = e.visits.reduce((sum, v) => sum + v.visit.passesS.length, 0);
        const untold = e.visits.flatMap((v) => v.visit.pulses).filter((p) => !p.marked).length;
        const isFinished = e.result === 'clear' || e.result === 'not-clear' || e.result === 'cannot-tell';
        if (!isFinished || passes === 0 || passes + untold >= least) return [];
        return [
          {
            subject: e.id,
            emitter: e.id,
            stage: 'emitters' as const,
            params: { emitter: e.name, passes, least },
            spans: e.visits.map((v) => [v.visit.fromS, v.toS] as const),
            figures: { passes, leastPasses: least },
          },
        ];
      }),
    );
  },
});
