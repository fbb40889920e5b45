/**
 * Troubles of kit and cable that can be called by name while the simulated rig runs. Troubles of water and sensors are in
 * simulate.ts. Lengths in seconds, by the kit's own time.
 */
export const kitFaultNames = ['drop', 'reset', 'noise', 'stall', 'duplicate', 'drift', 'cut', 'calm'] as const;
export type KitFault = (typeof kitFaultNames)[number];

export const faultLengthS: Readonly<Record<KitFault, number>> = {
  /** Packs are numbered and lost. */
  drop: 8,
  /** Started again: boot + 1, seq and up from 0, hello. */
  reset: 2,
  /** Bytes of rubbish between the lines. */
  noise: 8,
  /** The kit hangs: nothing is numbered, nothing sent. */
  stall: 15,
  /** Every line twice. */
  duplicate: 10,
  /** The kit's clock runs 200 ppm fast until told otherwise. */
  drift: Number.POSITIVE_INFINITY,
  /** Lines lose their middle or their end. */
  cut: 8,
  /** No trouble any more. */
  calm: 0,
};

export function isKitFault(name: string): name is KitFault {
  return (kitFaultNames as readonly string[]).includes(name);
}
