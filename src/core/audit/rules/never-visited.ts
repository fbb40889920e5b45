import { isPast, timesOf } from '../coverage.ts';
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
    const left = emitterOutcomes(run).filter((e) => e.result === 'not-visited');
    if (left.length === 0) return found([]);
    const names = left.map((e) => e.name);
    const params = { emitters: left.length, names: names.slice(0, 8).join(', '), more: Math.max(0, names.length - 8) };
    // One finding for all of them: nine lines that say the same would hide the tenth.
    return found([
      {
        subject: '',
        stage: 'emitters',
        params,
        spans: timesOf(run, 'emitters'),
        figures: { emitters: left.length },
        ...(left.length === 1 && left[0] ? { emitter: left[0].id } : {}),
      },
    ]);
  },
});
