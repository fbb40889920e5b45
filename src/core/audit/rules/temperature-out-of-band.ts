import { bandsOf } from '../../hydraulics/bands.ts';
import type { SampleKey } from '../../quantity/channels.ts';
import { extremesIn, hasSeen, meansIn, meansOfRun, timesOf } from '../coverage.ts';
import type { Span } from '../finding.ts';
import { type Evidence, found, notApplicable, practice, rule } from '../rule.ts';
import { lengthOf, type Point, stretches } from '../stretch.ts';
import { stretchLetBy } from '../thresholds.ts';

const bands = bandsOf('sealed');
const keys: readonly SampleKey[] = ['supplyC', 'returnC'];

export const temperatureOutOfBand = rule({
  id: 'temperature-out-of-band',
  title: 'Water too hot',
  why: 'It scalds, and hoses are not made for it.',
  source: `${practice}; a published burn table gives second degree burns in 3 s at 60 °C`,
  severity: 'warning',
  thresholds: {
    mostC: { default: 80, unit: '°C', about: 'most at any time: hoses', least: 20, most: 130, looser: 'higher' },
    handC: {
      default: bands.handAlarmC,
      unit: '°C',
      about: 'most while somebody works at the emitters and while it is rinsed',
      least: 20,
      most: 130,
      looser: 'higher',
    },
    forS: stretchLetBy,
  },
  judge: (run, { mostC, handC, forS }) => {
    const seen = keys.filter((key) => hasSeen(run, key));
    if (seen.length === 0) return notApplicable('no-temperature');
    const hands = timesOf(run, 'emitters', 'rinse');
    return found(
      seen.flatMap((key) => {
        const hotAt = (whom: 'hoses' | 'hands', points: readonly Point[], limitC: number): Evidence[] => {
          const spans = stretches(points, (c) => c > limitC, forS);
          return hot(key, whom, spans, extremesIn(run, spans, key)?.high ?? limitC, limitC);
        };
        return [...hotAt('hoses', meansOfRun(run, key), mostC), ...hotAt('hands', meansIn(run, hands, key), handC)];
      }),
    );
  },
});

function hot(
  key: SampleKey,
  whom: 'hoses' | 'hands',
  spans: readonly Span[],
  highestC: number,
  limitC: number,
): Evidence[] {
  if (spans.length === 0) return [];
  const figures = { highestC, limitC, outS: lengthOf(spans) };
  const where = key === 'supplyC' ? 'supply' : 'return';
  return [{ subject: `${where}/${whom}`, params: { where, whom, ...figures }, spans, figures }];
}
