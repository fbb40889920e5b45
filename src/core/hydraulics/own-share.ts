/** A flow so much higher than this one shows what the pump gives to many; until then it is taken to give so much more; no source. */
const higher = 1.02;
const usualMore = 1.25;

/**
 * Part of the flow that still comes from the emitter that is worked on when another has opened beside it. Emitters lie in
 * parallel, and losses go with the square of the flow (Darcy and Weisbach with a constant factor): 1/Q^2 = c + 1/G^2, with c of
 * pump and common pipes and G of the open emitters, which add up. With everything open G is large, so the highest flow that was
 * seen gives c. The ratio of the flows alone would take the pump for one that gives twice as much to two.
 *
 * @param aloneLpm what this emitter gave alone; `flowLpm` what flows now; `mostLpm` the highest flow of the run so far
 * @returns between 0 and 1
 */
export function ownShare(aloneLpm: number, flowLpm: number, mostLpm: number): number {
  if (!(flowLpm > aloneLpm)) return 1;
  const most = mostLpm > higher * flowLpm ? mostLpm : usualMore * flowLpm;
  const common = 1 / most ** 2;
  return Math.sqrt((1 / flowLpm ** 2 - common) / (1 / aloneLpm ** 2 - common));
}
