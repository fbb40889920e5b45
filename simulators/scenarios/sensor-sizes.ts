import type { Random } from '../random.ts';
import type { SensorSpec } from '../sensors/sensor-set.ts';
import type { TurbiditySpec } from '../sensors/turbidity.ts';

export interface SensorWish {
  readonly turbidity?: Partial<TurbiditySpec>;
  readonly secondTurbidity?: boolean;
  readonly flowStepLpm?: number;
  readonly noFlow?: boolean;
  readonly noConductivity?: boolean;
  readonly bubblesPerS?: number;
}

function drawTurbidity(random: Random, over: Partial<TurbiditySpec>): TurbiditySpec {
  return {
    noiseNtu: random.logBetween(0.3, 2.5),
    noiseShare: random.between(0.01, 0.04),
    loNtu: 0,
    hiNtu: random.pick([3000, 4000, 4000, 5000]),
    stepNtu: random.pick([0.01, 0.1, 0.25]),
    lagS: random.between(0.2, 1.2),
    foldNtu: null,
    ...over,
  };
}

/** Sensors of ordinary quality, with the one property that a scenario is about. */
export function drawSensors(random: Random, wish: SensorWish = {}): SensorSpec {
  const turbidity = drawTurbidity(random, wish.turbidity ?? {});
  const flowStep = wish.flowStepLpm ?? random.pick([0.01, 0.05, 0.1]);
  return {
    turbidity,
    turbidityOut: wish.secondTurbidity
      ? drawTurbidity(random, { ...wish.turbidity, noiseNtu: turbidity.noiseNtu })
      : null,
    flow: wish.noFlow
      ? null
      : {
          noise: 0.03,
          noiseShare: random.between(0.005, 0.03),
          step: flowStep,
          lo: 0,
          hi: 60,
          dead: random.between(0.2, 0.8),
          gain: random.between(0.96, 1.04),
        },
    pressure: { noise: random.between(0.002, 0.008), noiseShare: 0, step: 0.001, lo: -1, hi: 6 },
    temperature: { noise: 0.05, noiseShare: 0, step: 0.0625, lo: -30, hi: 125 },
    conductivity: wish.noConductivity ? null : { noise: 1, noiseShare: 0.004, step: 1, lo: 0, hi: 10000 },
    bubblesPerS: wish.bubblesPerS ?? 0.002,
  };
}
