import type { Random } from '../random.ts';

/** How an engineer works. Times in seconds, pairs are ranges. None of it knows of any detector: only eye and clock. */
export interface Habits {
  readonly passes: readonly [number, number];
  readonly passS: readonly [number, number];
  readonly vigour: readonly [number, number];
  /** From the opening to the first pass, and at least this long after each. */
  readonly settleS: readonly [number, number];
  readonly leastS: readonly [number, number];
  /** From the emitter to the rig where the hose is watched, and back again for the next pass or the shutting. */
  readonly walkS: readonly [number, number];
  /** How long the water must have looked thin before it is trusted. */
  readonly thinS: readonly [number, number];
  /** Chance to be content with an emitter whose last pass brought nothing that the eye could see. */
  readonly contentment: number;
  /** Longest that the next pass is waited for. */
  readonly patienceS: readonly [number, number];
  /** How long it stays at the end when the water already looks thin. */
  readonly lingerS: readonly [number, number];
  /** Water thinner than this looks clear in the hose. */
  readonly eyeNtu: number;
  /** Taps come so much later than the deed. */
  readonly tapLateS: readonly [number, number];
  /** Chance that a pass is not told at all, and that its start is not told. */
  readonly forgetPass: number;
  readonly forgetStart: number;
  readonly forgetShut: number;
  /** Chance that the next emitter is opened some seconds before the last is shut. */
  readonly overlap: number;
  readonly baselineS: readonly [number, number];
}

/** An ordinary engineer, with what a scenario changes. */
export function drawHabits(random: Random, over: Partial<Habits> = {}): Habits {
  return {
    passes: [2, 5],
    passS: [15, 40],
    vigour: [0.6, 1.3],
    settleS: [10, 90],
    leastS: [25, 60],
    walkS: [6, 40],
    thinS: [5, random.between(20, 70)],
    contentment: random.pick([0.5, 0.9]),
    patienceS: [random.between(90, 200), random.between(200, 400)],
    lingerS: [20, 120],
    eyeNtu: random.logBetween(15, 70),
    tapLateS: [0, random.between(0.5, 5)],
    forgetPass: 0,
    forgetStart: random.pick([0, 0, 0.5, 1]),
    forgetShut: 0.1,
    overlap: random.pick([0, 0.3, 0.7]),
    baselineS: [60, 180],
    ...over,
  };
}
