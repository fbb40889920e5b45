import { isPast } from '../coverage.ts';
import { emitterOutcomes } from '../outcome.ts';
import { found, notApplicable, practice, rule } from '../rule.ts';

export const neverVisited = rule({
  id: 'never-visited',
  title: 'Emitter never worked on',
  why: 'An emitter that nobody opened alone keeps its dirt, and gives it back to the others.',
  source: practice,
  severity: 'serious',
  thresholds: {},
  judge: (run) => {
    if (run.visits.length === 0) return notApplicable('no-visit');
    if (!isPast(run, 'emitters')) return notApplicable('under-way');
    return found(
      emitterOutcomes(run)
        .filter((e) => e.result === 'not-visited')
        .map((e) => ({
          subject: e.id,
          emitter: e.id,
          stage: 'emitters' as const,
          params: { emitter: e.name },
          spans: [],
          figures: {},
        })),
    );
  },
});
