/** Seconds at which counters of kits run over: 32 bits of microseconds, 32 bits of milliseconds. */
const wrapsS: readonly number[] = [2 ** 32 / 1e6, 2 ** 32 / 1e3];

/** How well the time that passed must fit the running over, seconds, and as a part of the time. */
const fitS = 2;
const fitPart = 0.01;

/**
 * `up` went back: did its counter run over? Then the seconds to add from now on; null when the time that passed since the
 * last pack does not fit, which means that the kit was started anew.
 */
export function unwrapUp(lastUpS: number, upS: number, passedS: number): number | null {
  for (const wrap of wrapsS) {
    const passedByKit = upS + wrap - lastUpS;
    if (lastUpS < wrap && Math.abs(passedByKit - passedS) <= fitS + fitPart * passedS) return wrap;
  }
  return null;
}
