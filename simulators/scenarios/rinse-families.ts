import type { Random } from '../random.ts';
import { drawScenario, type ScenarioWish } from './ordinary.ts';
import type { Family } from './scenario.ts';
import * as trouble from './troubles.ts';

/** One short visit, then the rinse that the family is about. */
function rinse(r: Random, wish: ScenarioWish) {
  return drawScenario(r, {
    emitter: (e) => ({ peakNtu: e.logBetween(10, 400) }),
    visits: [1, 2],
    habits: { passes: [1, 2] },
    circulate: r.fork('circulate').chance(0.6),
    ...wish,
  });
}

/** Families of the rinse at the end. */
export const rinseFamilies: readonly Family[] = [
  { name: 'rinse', about: 'a rinse that comes to the mains level', draw: (r) => rinse(r, { rinseS: [700, 1500] }) },
  {
    name: 'rinse-cut-short',
    about: 'a rinse that ends before the level is reached',
    draw: (r) => rinse(r, { rinseS: [60, 350] }),
  },
  {
    name: 'rinse-mains-lost',
    about: 'mains lost for a while, or weak',
    draw: (r) =>
      rinse(r, {
        rinseS: [800, 1600],
        troubles: (t) => [
          {
            during: 'rinse',
            happen: trouble.mainsLost(t.between(60, 500), t.between(40, 400), t.chance(0.5) ? 0 : 0.2),
          },
        ],
      }),
  },
  {
    name: 'rinse-rounds',
    about: 'one emitter after the other is opened: old water comes again',
    draw: (r) =>
      rinse(r, {
        rinseS: [900, 1600],
        troubles: (t) => [{ during: 'rinse', happen: trouble.rinseRound(t.between(120, 350), t.whole(1, 3)) }],
      }),
  },
  {
    name: 'rinse-late-slug',
    about: 'a slug of dirt after the water was clean already',
    draw: (r) =>
      rinse(r, {
        rinseS: [900, 1600],
        troubles: (t) => [{ during: 'rinse', happen: trouble.lateSlug(t.between(300, 700)) }],
      }),
  },
  {
    name: 'rinse-no-conductivity',
    about: 'a rinse watched by turbidity alone',
    draw: (r) => rinse(r, { rinseS: [700, 1500], sensors: { noConductivity: true } }),
  },
];
