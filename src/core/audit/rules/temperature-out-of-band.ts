import { bandsOf } from '../../hydraulics/bands.ts';
import type { SampleKey } from '../../quantity/channels.ts';
import { hasSeen, meansIn, meansOfRun, timesOf } from '../coverage.ts';
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
        const all = meansOfRun(run, key);
        const work = meansIn(run, hands, key);
        return [
          ...hot(
            key,
            'hoses',
            all,
            stretches(all, (c) => c > mostC, forS),
            mostC,
          ),
          ...hot(
            key,
            'hands',
            work,
            stretches(work, (c) => c > handC, forS),
            handC,
          ),
        ];
      }),
    );
  },
});

function hot(
  key: SampleKey,
  whom: 'hoses' | 'hands',
  points: readonly Point[],
  spans: readonly Span[],
  limitC: number,
): Evidence[] {
  if (spans.length === 0) return [];
  const within = points.filter((p) => spans.some(([a, b]) => p.timeS >= a && p.timeS <= b)).map((p) => p.value);
  const figures = { highestC: Math.max(...within), limitC, outS: lengthOf(spans) };
  const where = key === 'supplyC' ? 'supply' : 'return';
  return [{ subject: `${where}/${whom}`, params: { where, whom, ...figures }, spans, figures }];
}
