import { eventsNamed } from '../gather.ts';
import { nameOf } from '../outcome.ts';
import { found, notApplicable, practice, rule } from '../rule.ts';

export const verdictOverridden = rule({
  id: 'verdict-overridden',
  title: 'Verdict overridden',
  why: 'The engineer decided otherwise than the tool: often rightly, but somebody should look.',
  source: practice,
  severity: 'warning',
  thresholds: {},
  judge: (run) => {
    if (run.input.entries.length === 0) return notApplicable('no-event');
    return found(
      eventsNamed(run, 'override').map(({ event, who, id }) => {
        const visit = run.visits.findLast((v) => v.visit.emitter === event.emitter && v.visit.fromS <= event.timeS);
        const fromS = visit ? visit.visit.fromS : event.timeS;
        return {
          subject: id,
          emitter: event.emitter,
          params: {
            emitter: nameOf(run, event.emitter),
            why: event.note.trim(),
            who,
            state: visit?.visit.verdict.state ?? '',
          },
          spans: [[fromS, event.timeS] as const],
          figures: visit ? { passes: visit.visit.passesS.length } : {},
        };
      }),
    );
  },
});
