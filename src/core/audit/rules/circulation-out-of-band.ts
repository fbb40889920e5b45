import { bandsOf } from '../../hydraulics/bands.ts';
import type { SampleKey } from '../../quantity/channels.ts';
import { hasSeen, meansIn, stageMissing, timesOf } from '../coverage.ts';
import { lengthOf, stretches } from '../stretch.ts';
import { type Evidence, found, notApplicable, practice, rule } from '../rule.ts';

export const circulationOutOfBand = rule({
  id: 'circulation-out-of-band',
  title: 'Flow or temperature out of band while circulating',
  why: 'Too slow or too cool, the cleaner does little; too hot, hoses and people are at risk.',
  source: practice,
  severity: 'warning',
  thresholds: {
    share: {
      default: 0.5,
      unit: 'of the time',
      about: 'share of the stage out of band that is let by: warming up is part of it',
      least: 0,
      most: 1,
      looser: 'higher',
    },
  },
  judge: (run, { share }) => {
    const missing = stageMissing(run, 'circulate');
    if (missing) return missing;
    const times = timesOf(run, 'circulate');
    if (times.length === 0) return notApplicable('stage-untold');
    const { circulateLpm, circulateC } = bandsOf(run.driven.job.survey.system);
    const bands: readonly (readonly [SampleKey, number, number])[] = [
      ['flowLpm', circulateLpm, Number.POSITIVE_INFINITY],
      ['returnC', circulateC[0], circulateC[1]],
    ];
    const seen = bands.filter(([key]) => hasSeen(run, key));
    if (seen.length === 0) return notApplicable('no-flow-no-temperature');
    return found(
      seen.flatMap(([key, least, most]): Evidence[] => {
        const points = meansIn(run, times, key);
        const spans = stretches(points, (v) => v < least || v > most, 1);
        const outS = lengthOf(spans);
        if (points.length === 0 || outS <= share * points.length) return [];
        const params = { channel: key, outS, ofS: points.length, least };
        return [{ subject: key, stage: 'circulate', params, spans, figures: { outS, ofS: points.length } }];
      }),
    );
  },
});
