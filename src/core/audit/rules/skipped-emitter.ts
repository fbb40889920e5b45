import { emitterOutcomes } from '../outcome.ts';
import { found, notApplicable, practice, rule } from '../rule.ts';

export const skippedEmitter = rule({
  id: 'skipped-emitter',
  title: 'Emitter skipped',
  why: 'It keeps its dirt. With a reason the client can decide; without one nobody can.',
  source: practice,
  severity: 'note',
  thresholds: {},
  judge: (run) => {
    const outcomes = emitterOutcomes(run);
    if (outcomes.length === 0) return notApplicable('no-emitter');
    return found(
      outcomes.flatMap((e) => {
        if (e.result !== 'skipped' || !e.skip) return [];
        const { note, timeS } = e.skip;
        return [
          {
            subject: e.id,
            emitter: e.id,
            stage: 'emitters' as const,
            severity: note.trim() === '' ? ('warning' as const) : ('note' as const),
            params: { emitter: e.name, why: note.trim() },
            spans: [[timeS, timeS] as const],
            figures: {},
          },
        ];
      }),
    );
  },
});
