import { emitterOutcomes } from '../outcome.ts';
import { found, notApplicable, practice, rule } from '../rule.ts';

export const notDone = rule({
  id: 'not-done',
  title: 'Clear when left, but the last pass still brought dirt',
  why: 'Where a pass brings dirt the next may bring more: only one that brings nothing shows that the emitter is done.',
  source: practice,
  severity: 'note',
  thresholds: {
    peakNtu: {
      default: 0,
      unit: 'NTU',
      about: 'last pulses that peak lower are let by',
      least: 0,
      most: 20000,
      looser: 'higher',
    },
  },
  judge: (run, { peakNtu: least }) => {
    if (run.visits.length === 0) return notApplicable('no-visit');
    return found(
      emitterOutcomes(run).flatMap((e) => {
        const last = e.visits.at(-1);
        // After a single pass there is a rule of its own.
        const passes = e.visits.reduce((sum, v) => sum + v.visit.passesS.length, 0);
        if (e.result !== 'clear' || !last || passes < 2) return [];
        const { visit, toS } = last;
        const pulse = visit.pulses.at(-1);
        const peakNtu = pulse?.peakNtu ?? null;
        if (!pulse || (peakNtu !== null && peakNtu < least)) return [];
        return [
          {
            subject: e.id,
            emitter: e.id,
            stage: 'emitters' as const,
            params: { emitter: e.name, passes, ...(peakNtu === null ? {} : { peakNtu }) },
            spans: [[pulse.onsetS, toS] as const],
            figures: { passes, ...(peakNtu === null ? {} : { peakNtu }) },
          },
        ];
      }),
    );
  },
});
