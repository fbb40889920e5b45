import { expect, test } from 'vitest';
import { type Death, killLoops } from './store-kill.ts';

/** Thirty deaths a store: all that it holds is read again after each. */
async function inTurns(deaths: readonly Death[]): Promise<{ events: number; samples: number }> {
  const all = { events: 0, samples: 0 };
  for (let i = 0; i < deaths.length; i += 30) {
    const { events, samples } = await killLoops(deaths.slice(i, i + 30));
    all.events += events;
    all.samples += samples;
  }
  return all;
}

test('a store killed 120 times at random moments keeps every acknowledged event and every committed sample', async () => {
  const { events, samples } = await inTurns(Array.from({ length: 120 }, () => ({ afterMs: Math.random() * 150 })));
  expect(events).toBeGreaterThan(120);
  // Compaction was among what was killed: many chunks were closed.
  expect(samples).toBeGreaterThan(20 * 600);
});

test('so does one that dies before each step of its writing, one after another', async () => {
  // Opening takes the first few steps; a chunk is closed about every 130 steps.
  const { samples } = await inTurns(Array.from({ length: 90 }, (_, i) => ({ beforeStep: i * 2 + 1 })));
  expect(samples).toBeGreaterThan(10 * 600);
});
