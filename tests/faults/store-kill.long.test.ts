import { expect, test } from 'vitest';
import { killLoops } from './store-kill.ts';

test('a store killed 120 times at random moments keeps every acknowledged event and every committed sample', async () => {
  const { events, samples } = await killLoops(120, Math.random);
  expect(events).toBeGreaterThan(120);
  // Compaction was among what was killed: many chunks were closed.
  expect(samples).toBeGreaterThan(20 * 600);
});
