import { expect, test } from 'vitest';
import { createAnalysis } from '../../src/core/analyse.ts';
import { Run } from '../../src/run/run.ts';
import { head } from '../src/core/job/job-cases.ts';
import { SteppedClock } from '../src/run/stepped-clock.ts';
import { generator } from './generator.ts';
import { MemoryRecord } from './memory-record.ts';
import { LooseKit, misplacedS } from './restart-storm.ts';

/** So many seconds of a kit that starts anew about six times a second. */
function storm(seconds: number, seed: number) {
  const clock = new SteppedClock();
  const record = new MemoryRecord(head);
  const faults: unknown[] = [];
  const run = new Run({ store: record, clock, createAnalysis, source: 'a test', fault: (e) => faults.push(e) });
  const random = generator(seed);
  const kit = new LooseKit(0);
  let restarts = 0;
  while (clock.nowS() < seconds) {
    clock.run(0.03 + 0.05 * random());
    if (random() < 0.3) {
      run.bytes(kit.cutOff(clock.nowS(), random()), clock.nowS());
      restarts += 1;
    } else run.bytes(kit.line(clock.nowS()), clock.nowS());
  }
  clock.run(70);
  const { counters } = run.view();
  run.stop();
  return { record, restarts, counters, faults };
}

test('a kit that starts anew hundreds of times a minute: readings in their places, one sentence, two entries', () => {
  const { record, restarts, counters, faults } = storm(60, 7);
  expect(restarts).toBeGreaterThan(300);
  expect(faults).toEqual([]);
  const samples = record.samples();
  expect(samples.length).toBeGreaterThan(400);
  expect(Math.max(...misplacedS(samples).map(Math.abs))).toBeLessThan(0.25);
  expect([record.late().length, counters.find((c) => c.code === 'behind')]).toEqual([0, undefined]);

  const told = counters.filter((c) => c.code === 'restarts');
  expect(told.map((c) => c.text)).toEqual(['Times the kit started anew.']);
  const entries = record.events().filter((e) => e.event.event === 'kit-restart');
  const count = entries.reduce((sum, e) => sum + Number(e.event.data?.['restarts'] ?? 1), 0);
  expect(entries.length).toBe(2);
  // A start of which no line came whole is no start to the bridge.
  expect(count).toBe(told[0]?.count);
  expect(count).toBeGreaterThan(200);
});
