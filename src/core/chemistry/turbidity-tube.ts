import type { Uncertain } from '../quantity/interval.ts';
import { given, type Outcome, outOfRange } from '../quantity/refusal.ts';

/**
 * Turbidity tube: the depth of water, cm, at which the mark vanishes, as NTU. depth = 244.13 NTU^-0.662, stated on a
 * school lake-study page, whose origin is a university field note (from memory). Observers differ: about 20 %
 * (from memory), taken as the standard uncertainty. Keep the depth in the record, convert for show.
 */
const factor = 244.13;
const exponent = -0.662;
export const tubeShare = 0.2;

export function tubeDepthCm(ntu: number): number {
  return factor * ntu ** exponent;
}

export interface TubeReading {
  readonly ntu: Uncertain;
  /** The mark was still seen through the full tube: the water is clearer than `ntu` says. */
  readonly isUpperBound: boolean;
}

/**
 * @param depthCm 3 to 150 cm: under 3 cm the relation says nothing, and no tube is longer
 * @param isStillVisible the mark is still seen at this depth, the tube being full
 */
export function tubeNtu(depthCm: number, isStillVisible = false): Outcome<TubeReading> {
  const refusal = outOfRange('depth in the turbidity tube', depthCm, 3, 150, 'cm');
  if (refusal) return { ok: false, refusal };
  const value = (depthCm / factor) ** (1 / exponent);
  return given({ ntu: { value, u: tubeShare * value }, isUpperBound: isStillVisible });
}
