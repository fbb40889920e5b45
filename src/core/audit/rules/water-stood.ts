import { hydraulicSettings } from '../../hydraulics/settings.ts';
import { hasSeen, meansIn, timesOf } from '../coverage.ts';
import type { Span } from '../finding.ts';
import type { Gathered } from '../gather.ts';
import { found, notApplicable, practice, rule } from '../rule.ts';
import { lengthOf, stretches } from '../stretch.ts';

/** Taps that say that no water is to flow, and that it is to flow again. */
const stops = new Set(['rig-pump-off', 'pause']);
const starts = new Set(['rig-pump-on', 'resume']);

export const waterStood = rule({
  id: 'water-stood',
  title: 'No water flowed',
  why: 'Water that stands carries no dirt away: that time was no work, whatever the clock of the visit or of the circulation says.',
  source: practice,
  severity: 'note',
  thresholds: {
    forS: {
      default: 60,
      unit: 's',
      about: 'at a stretch, while an emitter is open or it circulates, and nobody told that the pump is off',
      least: 10,
      most: 3600,
      looser: 'higher',
    },
  },
  judge: (run, { forS }) => {
    if (!hasSeen(run, 'flowLpm')) return notApplicable('no-flow');
    const visits = run.visits.map((v): Span => [v.visit.fromS, v.toS]);
    const circulation = timesOf(run, 'circulate');
    const wanted = [...visits, ...circulation].toSorted((a, b) => a[0] - b[0]);
    if (wanted.length === 0) return notApplicable('no-visit');
    // Each by itself: an emitter that was shut and the next one opened are two.
    const spans = wanted
      .flatMap((span) => stretches(meansIn(run, [span], 'flowLpm'), (v) => v < hydraulicSettings.stoppedLpm, forS))
      .filter((span) => lengthOf([span]) - toldS(run, span) >= forS);
    if (spans.length === 0) return found([]);
    const figures = {
      stops: spans.length,
      seconds: lengthOf(spans),
      longestS: Math.max(...spans.map(([a, b]) => b - a)),
    };
    return found([{ subject: '', params: figures, spans, figures }]);
  },
});

/** Seconds of a stop for which it was told that the pump is off, or that the run rests. */
function toldS(run: Gathered, [fromS, toS]: Span): number {
  let offS: number | null = null;
  let seconds = 0;
  for (const { event } of run.active) {
    const { timeS } = event;
    if (stops.has(event.event) && timeS >= fromS - hydraulicSettings.tapBeforeS && timeS <= toS) offS ??= timeS;
    if (!starts.has(event.event) || offS === null) continue;
    seconds += Math.max(0, Math.min(toS, timeS) - Math.max(fromS, offS));
    offS = null;
  }
  return offS === null ? seconds : seconds + toS - Math.max(fromS, offS);
}
