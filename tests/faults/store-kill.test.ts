import { expect, test } from 'vitest';
import { killLoops } from './store-kill.ts';

test('a store killed five times keeps every acknowledged event and every committed sample', async () => {
  let n = 0;
  const spread = [0.05, 0.9, 0.3, 0.6, 0.15];
  const { events, samples } = await killLoops(5, () => spread[n++] ?? 0);
  expect(events).toBeGreaterThan(0);
  expect(samples).toBeGreaterThan(0);
});
