import type { RecordingResult, VisitResult } from '../../core/analyse-recording.ts';
import type { Again as AgainOfPage, LookedAtRun } from '../../core/audit/page-schema.ts';
import type { Again, VerdictWord } from '../../core/audit/reanalyse.ts';

function verdictView(v: VisitResult | null, word: VerdictWord | null) {
  if (v === null || word === null) return null;
  return {
    state: word,
    clearAtS: v.clear_at_s,
    clears: v.clears.map((c): [number, number | null] => [c.from_s, c.to_s]),
    withheld: v.withheld,
    pulses: v.pulses.length,
    reason: v.reason.text,
  };
}

function rinseWords(rinse: RecordingResult['rinse']): string {
  if (rinse === null) return 'No rinse.';
  const at = rinse.clear_at_s;
  return `${at === null ? 'Not at mains level' : `At mains level from ${Math.round(at)} s`}. ${rinse.reason.text}`;
}

/** A run judged again beside its original verdicts, as the page shows it. */
export function againView(again: Again, looked: LookedAtRun | null): Omit<AgainOfPage, 'tookMs'> {
  return {
    visits: again.visits.map((v) => {
      const place = looked?.visits.find((p) => p.emitter === v.emitter && p.visit === v.visit);
      return {
        emitter: v.emitter,
        name: v.name,
        visit: v.visit,
        fromS: place?.fromS ?? 0,
        toS: place?.toS ?? 0,
        original: verdictView(v.original, v.originalVerdict),
        again: verdictView(v.again, v.againVerdict),
        differs: v.differs,
        laterS: v.clearLaterS,
      };
    }),
    rinse: again.rinse && {
      original: rinseWords(again.rinse.original),
      again: rinseWords(again.rinse.again),
      differs: again.rinse.differs,
    },
  };
}
