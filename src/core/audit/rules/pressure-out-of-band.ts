import { bandsOf } from '../../hydraulics/bands.ts';
import { extremesIn, hasSeen, meansIn, meansOfRun, timesOf } from '../coverage.ts';
import type { Span } from '../finding.ts';
import { type Evidence, found, notApplicable, practice, rule } from '../rule.ts';
import { lengthOf, stretches } from '../stretch.ts';
import { stretchLetBy } from '../thresholds.ts';

const sealed = bandsOf('sealed');

export const pressureOutOfBand = rule({
  id: 'pressure-out-of-band',
  title: 'Pressure out of band',
  why: 'Near the relief valve it may open and lose dosed water; too low, air is drawn in and the pump suffers.',
  source: practice,
  severity: 'warning',
  thresholds: {
    mostBar: {
      default: sealed.alarmBar ?? 2.5,
      unit: 'bar',
      about: 'most, at any time: well under the relief valve',
      least: 0,
      most: 10,
      looser: 'higher',
    },
    leastBar: {
      default: 0.3,
      unit: 'bar',
      about: 'least while emitters are worked on and while it circulates',
      least: -1,
      most: 10,
      looser: 'lower',
    },
    forS: stretchLetBy,
  },
  judge: (run, { mostBar, leastBar, forS }) => {
    if (run.driven.job.survey.system === 'open-vented' || run.driven.context.system === 'open-vented')
      return notApplicable('open-vented');
    if (!hasSeen(run, 'pressureBar')) return notApplicable('no-pressure');
    const all = meansOfRun(run, 'pressureBar');
    const work = meansIn(run, timesOf(run, 'emitters', 'circulate'), 'pressureBar');
    const high = stretches(all, (bar) => bar > mostBar, forS);
    const low = stretches(work, (bar) => bar < leastBar, forS);
    const evidence = (side: 'high' | 'low', spans: readonly Span[], limitBar: number): Evidence[] => {
      if (spans.length === 0) return [];
      const extremes = extremesIn(run, spans, 'pressureBar');
      const extremeBar = (side === 'high' ? extremes?.high : extremes?.low) ?? limitBar;
      const figures = { extremeBar, limitBar, outS: lengthOf(spans) };
      return [{ subject: side, params: { side, ...figures }, spans, figures }];
    };
    return found([...evidence('high', high, mostBar), ...evidence('low', low, leastBar)]);
  },
});
