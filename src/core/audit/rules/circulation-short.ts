import { typedFigure } from '../../job/stages/stage.ts';
import { circulateMin } from '../../job/stages/heat.ts';
import { hasSeen, stageMissing, timesOf } from '../coverage.ts';
import { found, notApplicable, practice, rule } from '../rule.ts';

export const circulationShort = rule({
  id: 'circulation-short',
  title: 'Hot circulation too short',
  why: 'The cleaner works while it is hot and moving; time outside the bands does not count.',
  source: practice,
  severity: 'serious',
  thresholds: {
    minutes: {
      default: circulateMin,
      unit: 'min',
      about: 'least time with flow and temperature inside their bands; what the run asked for wins when it is more',
      least: 0,
      most: 1440,
      looser: 'lower',
    },
  },
  judge: (run, { minutes }) => {
    const missing = stageMissing(run, 'circulate');
    if (missing) return missing;
    const { job, live } = run.driven;
    const typedMin = typedFigure(job, 'circulated-min');
    const isMeasured = hasSeen(run, 'flowLpm') && hasSeen(run, 'returnC') && live.circulated !== null;
    const isEntered = timesOf(run, 'circulate').length > 0;
    if (isEntered && !isMeasured && typedMin === null) return notApplicable('circulation-unmeasured');
    const countedMin = Math.max(isMeasured ? (live.circulated?.countedS ?? 0) / 60 : 0, typedMin ?? 0);
    const wantedMin = Math.max(minutes, minutes > 0 ? (typedFigure(job, 'circulate-min') ?? 0) : 0);
    if (countedMin >= wantedMin) return found([]);
    return found([
      {
        subject: '',
        stage: 'circulate',
        params: { countedMin, wantedMin },
        spans: timesOf(run, 'circulate'),
        figures: { countedMin, wantedMin },
      },
    ]);
  },
});
