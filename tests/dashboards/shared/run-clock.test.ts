import { describe, expect, it } from 'vitest';
import { RunClock } from '../../../dashboards/shared/run-clock.ts';

describe('run clock of a page', () => {
  it('goes on by the page when the bridge falls silent, in real seconds at any speed', () => {
    const clock = new RunClock();
    clock.beat(1000, 20, 5000);
    expect(clock.nowS(15_000)).toBe(1200);
    expect(clock.ageS(1000, 15_000)).toBe(10);
  });

  it('lets the age grow from the last row, though no beat came since the page was opened', () => {
    const clock = new RunClock();
    clock.restart(1000, 0);
    clock.row(1040, 1000);
    expect(clock.ageS(1040, 11_000)).toBe(10);
  });

  it('is not set back by a row that comes late', () => {
    const clock = new RunClock();
    clock.beat(1000, 1, 0);
    clock.row(990, 2000);
    expect(clock.nowS(2000)).toBe(1002);
  });

  it('takes a standing speed for one, and never tells an age under nothing', () => {
    const clock = new RunClock();
    clock.beat(50, 0, 0);
    expect(clock.ageS(60, 1000)).toBe(0);
    expect(clock.ageS(50, 3000)).toBe(3);
  });
});
