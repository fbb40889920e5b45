/** Repeatable standard normal numbers for tests (sum of twelve from a linear congruential generator). */
export function noiseFrom(seed: number): () => number {
  let state = (seed * 2654435761) >>> 0;
  const uniform = (): number => {
    state = (Math.imul(state, 1664525) + 1013904223) >>> 0;
    return state / 4294967296;
  };
  return () => {
    let sum = -6;
    for (let i = 0; i < 12; i++) sum += uniform();
    return sum;
  };
}
