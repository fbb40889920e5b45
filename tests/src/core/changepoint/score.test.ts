import { describe, expect, it } from 'vitest';
import { covering, delays, marginScore, marginScoreOfMany } from '../../../../src/core/changepoint/score.ts';

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

  // The marks of five people on two public series, and the scores published for an answer without any change (van den
  // Burg and Williams 2020: annotations.json of the data set; the tables of default scores of its benchmark).
  it('many marks of one series: the published scores of no change at all', () => {
    const nile = [[], [28], [], [28], [28]];
    const oil = [
      [219, 230, 288],
      [227, 381],
      [86, 219, 230, 279, 375],
      [169, 172, 217, 228, 287, 368, 382, 389, 409],
      [170, 180, 219, 229, 246, 271, 286, 379, 409, 444, 483],
    ];
    const cover = (marks: number[][], rows: number): number =>
      marks.reduce((s, truth) => s + covering(truth, [], rows), 0) / marks.length;
    expect(marginScoreOfMany(nile, [], 5).f1).toBeCloseTo(0.824, 3);
    expect(cover(nile, 100)).toBeCloseTo(0.758, 3);
    expect(marginScoreOfMany(oil, [], 5).f1).toBeCloseTo(0.315, 3);
    expect(cover(oil, 500)).toBeCloseTo(0.266, 3);
    expect(marginScoreOfMany(nile, [28], 5).f1).toBe(1);
  });

  it('delay counts the changed row as one; an alarm before it is not its own', () => {
    expect(delays([10, 50], [9, 12, 30])).toEqual([3, null]);
  });
});
