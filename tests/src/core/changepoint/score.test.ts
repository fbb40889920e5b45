import { describe, expect, it } from 'vitest';
import { covering, delays, marginScore } from '../../../../src/core/changepoint/score.ts';

describe('scores', () => {
  it('margin: each true change is matched once; the start counts when asked', () => {
    expect(marginScore([50], [48, 52], 5)).toEqual({ precision: 0.5, recall: 1, f1: 2 / 3 });
    expect(marginScore([], [], 5).f1).toBe(1);
    expect(marginScore([50], [], 5).f1).toBe(0);
    expect(marginScore([50], [], 5, true)).toEqual({ precision: 1, recall: 0.5, f1: 2 / 3 });
  });

  it('covering: one for the truth, the mean overlap otherwise', () => {
    expect(covering([50], [50], 100)).toBe(1);
    expect(covering([50], [], 100)).toBe(0.5);
    expect(covering([], [50], 100)).toBe(0.5);
  });

  it('delay counts the changed row as one; an alarm before it is not its own', () => {
    expect(delays([10, 50], [9, 12, 30])).toEqual([3, null]);
  });
});
