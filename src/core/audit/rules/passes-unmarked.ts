import { found, notApplicable, rule } from '../rule.ts';
import { nameOf } from '../outcome.ts';

export const passesUnmarked = rule({
  id: 'passes-unmarked',
  title: 'Dirt came with no pass marked',
  why: 'The passes that the record counts are too few, and a verdict that waits for a pass to be answered waits for the wrong one.',
  source: 'docs/method.md: a pulse with no pass is still a pulse',
  severity: 'note',
  thresholds: {
    openS: {
      default: 120,
      unit: 's',
      about: 'a pulse so soon after the opening, or after a marked pass, is the opening’s or an echo',
      least: 0,
      most: 3600,
      looser: 'higher',
    },
    pulses: {
      default: 1,
      unit: 'pulses',
      about: 'so many in a visit are let by',
      least: 0,
      most: 100,
      looser: 'higher',
    },
  },
  judge: (run, { openS, pulses: most }) => {
    if (run.visits.length === 0) return notApplicable('no-visit');
    if (run.input.entries.length === 0) return notApplicable('no-event');
    return found(
      run.visits.flatMap(({ visit, toS }) => {
        const causesS = [visit.fromS, ...visit.passesS];
        const own = visit.pulses.filter(
          (p) => !p.marked && !causesS.some((s) => p.onsetS >= s - 1 && p.onsetS <= s + openS),
        );
        if (own.length <= most) return [];
        return [
          {
            subject: `${visit.emitter}/${visit.visit}`,
            emitter: visit.emitter,
            stage: 'emitters' as const,
            params: { emitter: nameOf(run, visit.emitter), pulses: own.length, passes: visit.passesS.length },
            spans: own.map((p) => [p.onsetS, p.endS ?? toS] as const),
            figures: { pulses: own.length, passes: visit.passesS.length },
          },
        ];
      }),
    );
  },
});
