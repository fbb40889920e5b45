import { drawScenario } from './ordinary.ts';
import type { Family } from './scenario.ts';

/** Families that differ in what lies in the emitters and how it comes out. */
export const dirtFamilies: readonly Family[] = [
  { name: 'ordinary', about: 'all sorts of emitters, nothing goes wrong', draw: (r) => drawScenario(r) },
  {
    name: 'heavy',
    about: 'thick sludge: peaks of 800 to 4000 NTU, strong echo',
    draw: (r) =>
      drawScenario(r, {
        emitter: (e) => ({ peakNtu: e.logBetween(800, 3800) }),
        habits: { passes: [3, 6] },
        sensors: { turbidity: { hiNtu: 5000 } },
      }),
  },
  {
    name: 'clean',
    about: 'emitters that hardly give anything: passes that bring nothing',
    draw: (r) =>
      drawScenario(r, {
        emitter: (e) => ({ peakNtu: e.chance(0.5) ? e.between(0, 5) : e.between(5, 40) }),
        habits: { passes: [1, 3] },
      }),
  },
  {
    name: 'hard',
    about: 'hard deposits: every pass brings a tail of minutes again',
    draw: (r) =>
      drawScenario(r, {
        emitter: (e) => ({
          peakNtu: e.logBetween(80, 1500),
          hardRatio: e.between(0.6, 2.5),
          crumbS: e.logBetween(60, 200),
        }),
        habits: { passes: [3, 5], patienceS: [150, 400] },
      }),
  },
  {
    name: 'never-clears',
    about: 'one emitter whose tails never end within the visit',
    draw: (r) =>
      drawScenario(r, {
        emitter: (e, i) =>
          i % 2 === 0
            ? { peakNtu: e.logBetween(200, 900), hardRatio: e.between(3, 6), crumbS: e.between(250, 600) }
            : { peakNtu: e.logBetween(30, 400) },
        visits: [2, 3],
        habits: { passes: [3, 6] },
      }),
  },
  {
    name: 'overlapping',
    about: 'passes so close that pulses lie on one another',
    draw: (r) =>
      drawScenario(r, {
        emitter: (e) => ({ peakNtu: e.logBetween(60, 2000) }),
        habits: { passes: [4, 7], leastS: [5, 20], patienceS: [20, 70], walkS: [0, 6], contentment: 0.3 },
      }),
  },
  {
    name: 'microbore',
    about: 'thin pipes: little flow, little spread',
    draw: (r) => drawScenario(r, { emitter: (e) => ({ peakNtu: e.logBetween(20, 1500), microbore: true }) }),
  },
  {
    name: 'many',
    about: 'a hall with 12 to 20 emitters, some visits long after each other',
    draw: (r) => drawScenario(r, { emitters: [12, 20], visits: [6, 8], habits: { passes: [1, 3] } }),
  },
  {
    name: 'echo',
    about: 'chambers that let a third to a half pass: the pulse comes round again',
    draw: (r) =>
      drawScenario(r, {
        emitter: (e) => ({ peakNtu: e.logBetween(150, 3000) }),
        house: { passEmpty: r.fork('pass').between(0.3, 0.5) },
      }),
  },
  {
    name: 'loading',
    about: 'chambers that fill: background climbs, flow falls',
    draw: (r) => {
      const s = drawScenario(r, { emitter: (e) => ({ peakNtu: e.logBetween(300, 3000) }), visits: [4, 6] });
      const dirt = s.order.reduce((sum, i) => sum + (s.house.emitters[i]?.looseNtuL ?? 0), 0);
      const chamber = {
        ...s.house.chamber,
        capacityNtuL: dirt * r.fork('capacity').between(0.4, 0.8),
        blockage: r.fork('blockage').between(2, 7),
        passFull: r.fork('full').between(0.6, 0.95),
      };
      return { ...s, house: { ...s.house, chamber } };
    },
  },
  {
    name: 'slow-background',
    about: 'a background that wanders and drifts',
    draw: (r) => {
      const s = drawScenario(r, { house: { backgroundNtu: r.fork('level').logBetween(20, 80) } });
      const background = {
        ...s.house.background,
        wander: r.fork('wander').between(0.12, 0.3),
        wanderS: r.fork('wanderS').between(150, 600),
        driftPerHour: r.fork('drift').between(-0.8, 1),
      };
      return { ...s, house: { ...s.house, background } };
    },
  },
  {
    name: 'high-background',
    about: 'small pulses on a high background',
    draw: (r) =>
      drawScenario(r, {
        emitter: (e) => ({ peakNtu: e.logBetween(15, 200) }),
        house: { backgroundNtu: r.fork('level').between(50, 80) },
      }),
  },
];
