import { hasSeen, timesOf } from '../coverage.ts';
import type { Span } from '../finding.ts';
import type { Gathered } from '../gather.ts';
import { found, notApplicable, practice, rule } from '../rule.ts';
import { lengthOf, overlap } from '../stretch.ts';

export const dataGap = rule({
  id: 'data-gap',
  title: 'Gap in the readings',
  why: 'What was not read cannot be checked: dirt may have come by unseen.',
  source: practice,
  severity: 'warning',
  thresholds: {
    gapS: { default: 10, unit: 's', about: 'silence that is let by', least: 10, most: 3600, looser: 'higher' },
  },
  judge: (run, { gapS }) => {
    if (run.input.samples.length === 0) return notApplicable('no-sample');
    if (!hasSeen(run, 'turbidityNtu')) return notApplicable('no-turbidity');
    // Beside the work on emitters, circulation and rinse nobody needs readings; nor while the run rests.
    const told = timesOf(run, 'emitters', 'circulate', 'rinse');
    const times = told.length > 0 ? told : [[0, run.endS] as const];
    const gaps = run.gaps.flatMap((g) => unfilled(run, g.fromS, g.toS));
    const spans = overlap(gaps, times).filter(([a, b]) => b - a > gapS && !isResting(run, a, b));
    if (spans.length === 0) return found([]);
    const seconds = lengthOf(spans);
    const longestS = Math.max(...spans.map(([a, b]) => b - a));
    const figures = { gaps: spans.length, seconds, longestS };
    return found([{ subject: '', params: figures, spans, figures }]);
  },
});

/** What came late fills a gap: what is left of it between those readings. */
function unfilled(run: Gathered, fromS: number, toS: number): Span[] {
  const times = (run.input.late ?? [])
    .filter((s) => s.turbidityNtu !== null && s.timeS > fromS && s.timeS < toS)
    .map((s) => s.timeS)
    .toSorted((a, b) => a - b);
  return [...times, toS].map((to, i): Span => [times[i - 1] ?? fromS, to]);
}

function isResting(run: Gathered, fromS: number, toS: number): boolean {
  let sinceS: number | null = null;
  for (const { event } of run.active) {
    if (event.event === 'pause') sinceS = event.timeS;
    if (event.event !== 'resume' || sinceS === null) continue;
    if (sinceS <= fromS + 5 && event.timeS >= toS - 5) return true;
    sinceS = null;
  }
  return false;
}
