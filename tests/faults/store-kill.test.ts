import { expect, test } from 'vitest';
import { killLoops } from './store-kill.ts';

test('a store killed five times keeps every acknowledged event and every committed sample', async () => {
  const deaths = [{ afterMs: 5 }, { afterMs: 130 }, { beforeStep: 9 }, { afterMs: 60 }, { beforeStep: 40 }];
  const { events, samples } = await killLoops(deaths);
  expect(events).toBeGreaterThan(0);
  expect(samples).toBeGreaterThan(0);
});
