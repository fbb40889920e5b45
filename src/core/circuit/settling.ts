const gravity = 9.80665;

/** Density of magnetite, kg/m3: 5170 to 5200, from memory. Real sludge is lighter, for water fills its pores. */
export const magnetiteKgM3 = 5180;

export interface Settling {
  readonly mPerS: number;
  /** Particle Reynolds number at that speed. */
  readonly particleRe: number;
  /** Stokes holds below a particle Reynolds number of 0.1; above, the drag curve is used. */
  readonly law: 'stokes' | 'drag-curve';
}

const stokesLimit = 0.1;

/**
 * Terminal speed of a single sphere in still water. Stokes' law v = g (dp - d) D^2 / 18 mu where it holds; above, the
 * drag curve of Schiller and Naumann 1933, Cd = 24/Re (1 + 0.15 Re^0.687), good to Re 1000. Stokes alone would say a
 * fifth too much at 100 um in cold water and three fifths in hot.
 *
 * @param micrometres diameter, 0.1 to 1000
 * @throws RangeError outside that range, for then neither law holds
 */
export function settling(
  micrometres: number,
  water: { readonly densityKgM3: number; readonly viscosityPaS: number },
  particleKgM3: number = magnetiteKgM3,
): Settling {
  if (!(micrometres >= 0.1 && micrometres <= 1000))
    throw new RangeError(`Settling: ${micrometres} µm is outside 0.1 to 1000 µm.`);
  const d = micrometres * 1e-6;
  const toRe = (water.densityKgM3 * d) / water.viscosityPaS;
  const stokes = (gravity * (particleKgM3 - water.densityKgM3) * d * d) / (18 * water.viscosityPaS);
  if (Math.abs(stokes) * toRe < stokesLimit)
    return { mPerS: stokes, particleRe: Math.abs(stokes) * toRe, law: 'stokes' };
  // v (1 + 0.15 Re^0.687) = stokes rises with v, so bisection cannot miss.
  let low = 0;
  let high = Math.abs(stokes);
  for (let i = 0; i < 100; i++) {
    const v = (low + high) / 2;
    if (v * (1 + 0.15 * (v * toRe) ** 0.687) < Math.abs(stokes)) low = v;
    else high = v;
  }
  const speed = (low + high) / 2;
  return { mPerS: Math.sign(stokes) * speed, particleRe: speed * toRe, law: 'drag-curve' };
}

/**
 * Does rising water lift such a particle? True when the mean velocity is over `margin` times the settling speed: the
 * water near the wall is slower than the mean. Says nothing of level pipes. Margin 2 is a choice of ours, no source.
 */
export function isLifted(velocityMS: number, s: Settling, margin = 2): boolean {
  return velocityMS > margin * s.mPerS;
}
