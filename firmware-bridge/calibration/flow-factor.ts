import { densityKgM3 } from '../../src/core/water/density.ts';
import { meanOf, propagate, independent, type Uncertain } from './propagate.ts';

/** One filling of a bucket on a scale. */
export interface BucketRun {
  /** Net reading of the scale, kg. */
  readonly massKg: number;
  readonly uMassKg: number;
  readonly pulses: number;
  readonly waterC: number;
}

/** Air 1.2 kg/m3; scales are adjusted with weights of 8000 kg/m3 by convention (OIML D 28; from memory). */
const airKgM3 = 1.2;
const weightsKgM3 = 8000;

/**
 * Volume of water from its reading on a scale, litres: buoyancy of air and density of water, the static weighing idea
 * of ISO 4185 (formula from memory; check value 10.000 kg at 20 °C -> 10.0285 l).
 */
export function litresByWeighing(massKg: number, waterC: number): number {
  const density = densityKgM3(waterC);
  const buoyancy = (1 - airKgM3 / weightsKgM3) / (1 - airKgM3 / density);
  return ((massKg * buoyancy) / density) * 1000;
}

/**
 * Pulses a litre of a flow meter, from one or more buckets. The uncertainty joins scale, whole pulses (one pulse,
 * rectangular) and, from two buckets on, the spread between buckets, whichever of the two ways is larger.
 *
 * @throws RangeError when nothing was measured, or a bucket holds no pulses or no water.
 */
export function flowFactor(runs: readonly BucketRun[]): Uncertain & { readonly each: readonly number[] } {
  if (runs.length === 0) throw new RangeError('No bucket was measured. Fill one on the scale first.');
  for (const run of runs) {
    if (!(run.massKg > 0) || !(run.pulses > 0)) {
      throw new RangeError(
        `A bucket with ${run.massKg} kg and ${run.pulses} pulses cannot be used: both must be above zero. Check scale and flow meter.`,
      );
    }
  }
  const parts = runs.map((run) => {
    const inputs = [
      { value: run.massKg, u: run.uMassKg },
      { value: run.pulses, u: 1 / Math.sqrt(12) },
    ];
    const { values, u } = propagate(
      ([mass = 0, pulses = 0]) => [pulses / litresByWeighing(mass, run.waterC)],
      inputs.map((i) => i.value),
      independent(inputs),
    );
    return { value: values[0] ?? Number.NaN, u: u[0] ?? Number.NaN };
  });
  const each = parts.map((p) => p.value);
  const value = each.reduce((a, b) => a + b, 0) / each.length;
  const stated = Math.sqrt(parts.reduce((a, p) => a + p.u ** 2, 0)) / parts.length;
  const spread = each.length > 1 ? meanOf(each).u : 0;
  return { value, u: Math.max(stated, spread), each };
}
