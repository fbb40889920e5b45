import { seeded } from '../changepoint/gaussian.ts';
import type { RunContext } from '../../../../src/core/job/context.ts';
import type { RunEvent } from '../../../../src/core/job/event.ts';
import { emptySample, type Sample } from '../../../../src/core/quantity/sample.ts';

/** A run made by formulas, for facts that need no physics: background, pulses that wash out, flow, faults by time. */
export interface MadeRun {
  readonly context: RunContext;
  readonly samples: Sample[];
  readonly events: RunEvent[];
}

export interface Recipe {
  readonly endS: number;
  readonly hz?: number;
  readonly backgroundNtu?: number;
  readonly noiseNtu?: number;
  readonly stepNtu?: number;
  readonly flowLpm?: (timeS: number) => number | null;
  /** Fronts at the sensor: time, peak, and washout time constant. */
  readonly pulses?: readonly { readonly atS: number; readonly peakNtu: number; readonly tauS: number }[];
  readonly events?: readonly (readonly [number, string, string])[];
  /** Last word on the turbidity reading: faults. */
  readonly reading?: (ntu: number, timeS: number) => number | null | 'nothing';
  readonly seed?: number;
  readonly conductivityUsCm?: (timeS: number) => number | null;
}

export const context: RunContext = {
  emitters: [
    { id: 'a', name: 'A', volume_l: 6, path_l: 3 },
    { id: 'b', name: 'B', volume_l: 8, path_l: 4 },
  ],
  loop_volume_l: 30,
  return_volume_l: 3.5,
  mains: { turbidity_ntu: 0.4, conductivity_us_cm: 300 },
  sample_hz: 2,
};

export function gaussian(seed: number): () => number {
  return seeded(seed).normal;
}

export function makeRun(recipe: Recipe): MadeRun {
  const hz = recipe.hz ?? 2;
  const g = gaussian(recipe.seed ?? 1);
  const samples: Sample[] = [];
  for (let i = 0; i <= recipe.endS * hz; i += 1) {
    const timeS = i / hz;
    let ntu = recipe.backgroundNtu ?? 20;
    for (const p of recipe.pulses ?? []) {
      const age = timeS - p.atS;
      // A front of a few seconds, then the washout of a stirred tank.
      if (age > 0) ntu += p.peakNtu * (1 - Math.exp(-age / 4)) * Math.exp(-age / p.tauS);
    }
    ntu += (recipe.noiseNtu ?? 0.5) * g();
    const step = recipe.stepNtu ?? 0.01;
    const read = recipe.reading?.(Math.round(ntu / step) * step, timeS);
    if (read === 'nothing') continue;
    const sample = emptySample(timeS);
    sample.turbidityNtu = read === undefined ? Math.round(ntu / step) * step : read;
    sample.flowLpm = recipe.flowLpm ? recipe.flowLpm(timeS) : 10;
    sample.pressureBar = 1.2;
    sample.returnC = 40;
    sample.conductivityUsCm = recipe.conductivityUsCm?.(timeS) ?? null;
    samples.push(sample);
  }
  const events = (recipe.events ?? []).map(([timeS, event, emitter]) => ({ timeS, event, emitter, note: '' }));
  return { context: { ...context, sample_hz: hz }, samples, events };
}

/** A baseline of a minute, then emitter `a` is opened and shaken once (30 s), told from start to end. */
export const oneVisit: readonly (readonly [number, string, string])[] = [
  [0, 'stage:baseline', ''],
  [60, 'stage:emitters', ''],
  [61, 'emitter-open', 'a'],
  [100, 'agitate-start', 'a'],
  [130, 'agitate-end', 'a'],
];
