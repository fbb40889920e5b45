/**
 * What a litre of the simulated water carries. Dirt is counted in turbidity times litres (NTU l): turbidity is taken as
 * proportional to load, which holds while the grain stays the same; the sensor's curve is where that ends.
 *
 * Dirt is kept apart by where it came from, so that the truth can be read off the physics and not guessed from the sum:
 * the background of the whole loop, the echo (whatever passed the chambers once), and four slots for what passes set
 * free and that has not reached the chambers yet. Passes take the slots in turn.
 */
export const background = 0;
export const echo = 1;
export const firstSlot = 2;
export const slotCount = 4;
/** Conductivity at 25 degrees, µS/cm: taken to mix linearly (dilute, equal temperature). */
export const conductivity = 6;
/** Degrees C. */
export const heat = 7;
/** How many things water carries, and how many of them are dirt. */
export const carried = 8;
export const dirtKinds = 6;

/** One value per thing carried. */
export type Water = Float64Array;

export function water(dirtNtu = 0, conductivityUsCm = 0, temperatureC = 20): Water {
  const w = new Float64Array(carried);
  w[background] = dirtNtu;
  w[conductivity] = conductivityUsCm;
  w[heat] = temperatureC;
  return w;
}

/** Turbidity of this water, NTU, as a perfect sensor would see it. */
export function turbidity(w: Water): number {
  let sum = 0;
  for (let k = 0; k < dirtKinds; k += 1) sum += at(w, k);
  return sum;
}

/** Index into a typed array whose bounds the caller knows. */
export function at(values: Float64Array, index: number): number {
  return values[index] as number;
}
