import { expect, it } from 'vitest';
import { killBridges } from './bridge-kill.ts';

it('goes on where it was after 40 kills of the whole bridge at scattered moments', async () => {
  // Scattered without chance, so that a failure can be repeated: multiples of the golden ratio.
  const moments = Array.from({ length: 40 }, (_, i) => 80 + Math.round(((i * 0.618034) % 1) * 1500));
  const { taps, samples } = await killBridges(moments);
  // How much was done between the kills is this machine's affair; that something was makes the rest worth looking at.
  expect(taps).toBeGreaterThan(20);
  expect(samples).toBeGreaterThan(300);
});
