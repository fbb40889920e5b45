import { drawScenario, inVisits } from './ordinary.ts';
import type { Family } from './scenario.ts';
import * as trouble from './troubles.ts';

const forEver = Number.POSITIVE_INFINITY;

/** Families that differ in what the sensors and the link do. */
export const sensorFamilies: readonly Family[] = [
  {
    name: 'bubbles',
    about: 'air after openings, venting, and in between',
    draw: (r) =>
      drawScenario(r, {
        sensors: { bubblesPerS: r.fork('air').logBetween(0.01, 0.08) },
        troubles: (t, n) => [
          ...inVisits(t, n, 0.7, (v) => trouble.air(v.between(20, 250), v.between(0.3, 1), v.between(10, 40))),
          ...inVisits(t.fork('vent'), n, 0.3, (v) => trouble.venting(v.between(30, 200))),
        ],
      }),
  },
  {
    name: 'fouling',
    about: 'a film grows on the window',
    draw: (r) =>
      drawScenario(r, {
        troubles: (t, n) => [
          { during: t.whole(1, n), happen: trouble.fouling(t.between(0, 150), forEver, t.logBetween(1.5, 15)) },
        ],
      }),
  },
  {
    name: 'saturation',
    about: 'the reading stands at the end of its range during the peaks',
    draw: (r) =>
      drawScenario(r, {
        emitter: (e) => ({ peakNtu: e.logBetween(600, 4000) }),
        sensors: { turbidity: { hiNtu: r.fork('hi').pick([400, 800, 1000, 1500]) } },
        habits: { passes: [2, 5] },
      }),
  },
  {
    name: 'fold-back',
    about: 'the reading falls again when the water is thickest',
    draw: (r) => {
      const foldNtu = r.fork('fold').logBetween(500, 1800);
      return drawScenario(r, {
        emitter: (e) => ({ peakNtu: e.logBetween(800, 4000) }),
        sensors: { turbidity: { foldNtu, hiNtu: foldNtu * 0.52 } },
      });
    },
  },
  {
    name: 'stuck',
    about: 'the last value is repeated for ever or for a while',
    draw: (r) =>
      drawScenario(r, {
        troubles: (t, n) =>
          inVisits(t, n, 0.4, (v) =>
            trouble.sensorFault('stuck', v.between(20, 300), v.chance(0.6) ? v.between(60, 900) : v.between(20, 60)),
          ),
      }),
  },
  {
    name: 'dark',
    about: 'the sensor sees nothing and says zero, or says nothing at all',
    draw: (r) =>
      drawScenario(r, {
        troubles: (t, n) =>
          inVisits(t, n, 0.4, (v) =>
            trouble.sensorFault(v.pick(['dark', 'gone']), v.between(20, 300), v.chance(0.6) ? v.between(100, 900) : 40),
          ),
      }),
  },
  {
    name: 'coarse',
    about: 'a converter with steps of 2 to 20 NTU: clean water is flat',
    draw: (r) => {
      const stepNtu = r.fork('step').pick([2, 4, 5, 8, 10, 16, 20]);
      return drawScenario(r, { sensors: { turbidity: { stepNtu } } });
    },
  },
  {
    name: 'noisy',
    about: 'noise at the upper end of what occurs',
    draw: (r) =>
      drawScenario(r, { sensors: { turbidity: { noiseNtu: r.fork('n').between(2, 3.2), noiseShare: 0.04 } } }),
  },
  {
    name: 'coarse-flow',
    about: 'a flow meter of few pulses: steps of 0.5 to 2 l/min',
    draw: (r) => drawScenario(r, { sensors: { flowStepLpm: r.fork('step').between(0.5, 2) } }),
  },
  {
    name: 'no-flow-meter',
    about: 'no flow meter, or one that falls out for some visits',
    draw: (r) =>
      r.fork('none').chance(0.5)
        ? drawScenario(r, { sensors: { noFlow: true } })
        : drawScenario(r, {
            troubles: (t, n) =>
              inVisits(t, n, 0.4, (v) => trouble.flowMeterStands(v.between(0, 200), v.between(60, 500))),
          }),
  },
  {
    name: 'gaps',
    about: 'rows missing for seconds to minutes',
    draw: (r) =>
      drawScenario(r, {
        sampling: { gapsPerHour: r.fork('g').between(6, 40), gapS: r.fork('s').between(3, 25), missing: 0.01 },
        troubles: (t, n) => inVisits(t, n, 0.25, (v) => trouble.linkLost(v.between(30, 300), v.between(10, 400))),
      }),
  },
  {
    name: 'restarts',
    about: 'the kit starts again; rows doubled and out of order',
    draw: (r) => drawScenario(r, { sampling: { restartsPerHour: r.fork('n').between(4, 20), doubled: 0.02 } }),
  },
  {
    name: 'irregular',
    about: 'one to twenty rows a second, never evenly',
    draw: (r) =>
      drawScenario(r, {
        sampling: { hz: r.fork('hz').logBetween(1, 20), jitter: r.fork('j').between(0.3, 0.9), wander: [0.4, 1.8] },
      }),
  },
  {
    name: 'slow-rate',
    about: 'one row a second',
    draw: (r) => drawScenario(r, { sampling: { hz: 1, jitter: 0.05 } }),
  },
  {
    name: 'second-turbidity',
    about: 'a second turbidity sensor after the chambers',
    draw: (r) =>
      drawScenario(r, {
        emitter: (e) => ({ peakNtu: e.logBetween(60, 3000) }),
        sensors: { secondTurbidity: true },
        house: { passEmpty: r.fork('pass').between(0.1, 0.5) },
      }),
  },
];
