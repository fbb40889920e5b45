import { describe, expect, it } from 'vitest';
import { createRange, nextStep } from '../../../dashboards/shared/range.ts';

describe('axis range', () => {
  it.each([
    [21, 50],
    [20, 20],
    [3.1, 5],
    [99, 100],
    [0.4, 0.5],
  ])('steps %d up to %d', (value, step) => expect(nextStep(value)).toBeCloseTo(step));

  it('grows at once, shrinks after a minute below, and does not jump in between', () => {
    const range = createRange(20);
    expect(range.top(12, 0)).toBe(20);
    expect(range.top(31, 1000)).toBe(50);
    expect(range.top(12, 2000)).toBe(50);
    expect(range.top(12, 60_000)).toBe(50);
    expect(range.top(45, 61_000)).toBe(50);
    expect(range.top(12, 62_000)).toBe(50);
    expect(range.top(12, 121_999)).toBe(50);
    expect(range.top(12, 122_000)).toBe(20);
    expect(range.top(null, 200_000)).toBe(20);
  });
});
