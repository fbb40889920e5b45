import type { TurbiditySpec } from '../sensors/turbidity.ts';

/** Least rise that a reading at this level can be asked to show: three times its noise and one step of the converter. */
export function detectableNtu(spec: TurbiditySpec, levelNtu: number): number {
  return 3 * Math.hypot(spec.noiseNtu, spec.noiseShare * levelNtu) + spec.stepNtu;
}
