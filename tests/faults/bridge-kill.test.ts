import { expect, it } from 'vitest';
import { killBridges } from './bridge-kill.ts';

it('goes on where it was after kills of the whole bridge, with every acknowledged tap', async () => {
  const { taps, samples } = await killBridges([700, 250, 480]);
  expect(taps).toBeGreaterThan(5);
  expect(samples).toBeGreaterThan(30);
});
