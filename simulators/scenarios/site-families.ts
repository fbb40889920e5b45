import { anyEmitter, drawScenario, inVisits } from './ordinary.ts';
import type { Family } from './scenario.ts';
import * as trouble from './troubles.ts';

const forEver = Number.POSITIVE_INFINITY;

/** Families that differ in what happens on site and in how the engineer works. */
export const siteFamilies: readonly Family[] = [
  {
    name: 'pump-stops',
    about: 'the rig stands still for a while, told or not',
    draw: (r) =>
      drawScenario(r, {
        troubles: (t, n) =>
          inVisits(t, n, 0.6, (v) =>
            trouble.pumpStops(
              v.between(20, 260),
              v.chance(0.2) ? v.between(300, 900) : v.between(10, 120),
              v.chance(0.4),
            ),
          ),
      }),
  },
  {
    name: 'kink',
    about: 'the flow falls to a share or to nearly nothing',
    draw: (r) =>
      drawScenario(r, {
        troubles: (t, n) =>
          inVisits(t, n, 0.5, (v) =>
            trouble.kink(
              v.between(20, 250),
              v.between(40, 400),
              v.chance(0.4) ? v.between(0, 0.04) : v.between(0.2, 0.7),
            ),
          ),
      }),
  },
  {
    name: 'two-open',
    about: 'a second emitter is open as well',
    draw: (r) =>
      drawScenario(r, {
        troubles: (t, n) => inVisits(t, n, 0.5, (v) => trouble.secondOpen(v.between(0, 200), v.between(60, 500))),
      }),
  },
  {
    name: 'forgotten',
    about: 'some passes are not told, taps come late',
    draw: (r) => drawScenario(r, { habits: { forgetPass: r.fork('f').between(0.25, 0.6), tapLateS: [0, 9] } }),
  },
  {
    name: 'untold',
    about: 'no pass is ever told',
    draw: (r) => drawScenario(r, { habits: { forgetPass: 1 } }),
  },
  {
    name: 'hasty',
    about: 'an engineer who leaves too early',
    draw: (r) =>
      drawScenario(r, {
        emitter: (e) => ({ peakNtu: e.logBetween(60, 2500) }),
        habits: {
          passes: [1, 4],
          leastS: [5, 25],
          patienceS: [25, 110],
          thinS: [3, 15],
          lingerS: [0, 20],
          walkS: [3, 20],
          eyeNtu: 100,
        },
      }),
  },
  {
    name: 'dawdling',
    about: 'an engineer who stays long after it is clear',
    draw: (r) =>
      drawScenario(r, { visits: [2, 3], habits: { passes: [1, 3], leastS: [120, 300], lingerS: [150, 400] } }),
  },
  {
    name: 'reversed',
    about: 'the flow is turned round within visits',
    draw: (r) =>
      drawScenario(r, { troubles: (t, n) => inVisits(t, n, 0.4, (v) => trouble.reversing(v.between(60, 240))) }),
  },
  {
    name: 'emptied',
    about: 'the chambers are emptied within a visit',
    draw: (r) =>
      drawScenario(r, {
        emitter: (e) => ({ peakNtu: e.logBetween(200, 2500) }),
        troubles: (t, n) => inVisits(t, n, 0.3, (v) => trouble.emptyingChambers(v.between(60, 300))),
      }),
  },
  {
    name: 'leak',
    about: 'pressure falls faster than cooling explains; or only cooling',
    draw: (r) =>
      drawScenario(r, {
        troubles: (t) =>
          t.chance(0.6)
            ? [{ during: t.whole(0, 2), happen: trouble.leak(t.between(0, 200), t.logBetween(0.02, 0.4)) }]
            : [],
      }),
  },
  {
    name: 'filling-loop',
    about: 'pressure climbs with no heating; or with heating alone',
    draw: (r) =>
      drawScenario(r, {
        troubles: (t) => [
          t.chance(0.6)
            ? {
                during: t.whole(0, 2),
                happen: trouble.fillingLoopOpen(t.between(0, 200), t.between(120, 900), t.between(0.2, 1)),
              }
            : {
                during: t.whole(0, 2),
                happen: trouble.heating(t.between(0, 100), t.between(300, 900), t.between(0.1, 0.3), t.between(45, 72)),
              },
        ],
      }),
  },
  {
    name: 'too-hot',
    about: 'the heat source is left on: the water gets hotter than hoses and hands may take',
    draw: (r) =>
      drawScenario(r, {
        troubles: (t) => [
          { during: 1, happen: trouble.heating(t.between(0, 100), 1200, t.between(2.5, 4.5), t.between(76, 82)) },
        ],
      }),
  },
  {
    name: 'anything',
    about: 'several troubles in one run',
    draw: (r) =>
      drawScenario(r, {
        emitter: (e) => ({
          ...anyEmitter(e),
          microbore: e.chance(0.1),
          hardRatio: e.chance(0.3) ? e.between(0.3, 2) : 0.05,
        }),
        sensors: {
          turbidity: {
            stepNtu: r.fork('step').pick([0.1, 0.1, 1, 5]),
            hiNtu: r.fork('hi').pick([1000, 2000, 4000, 4000]),
          },
          bubblesPerS: r.fork('air').logBetween(0.001, 0.03),
          flowStepLpm: r.fork('flow').pick([0.05, 0.05, 0.5]),
        },
        sampling: { gapsPerHour: 5, restartsPerHour: 1, jitter: 0.3, missing: 0.003 },
        habits: { forgetPass: 0.15, tapLateS: [0, 6] },
        troubles: (t, n) =>
          inVisits(t, n, 0.4, (v) =>
            v.pick([
              trouble.pumpStops(v.between(20, 200), v.between(10, 90), v.chance(0.5)),
              trouble.air(v.between(20, 200), v.between(0.3, 1), 20),
              trouble.secondOpen(v.between(0, 100), v.between(60, 300)),
              trouble.sensorFault('stuck', v.between(60, 300), v.between(40, 600)),
              trouble.fouling(v.between(0, 100), forEver, v.between(1, 6)),
              trouble.kink(v.between(20, 200), v.between(40, 200), v.between(0.3, 0.7)),
            ]),
          ),
      }),
  },
];
