import { describe, expect, it } from 'vitest';
import { gather } from '../../../../src/core/audit/gather.ts';
import { compare, reanalyse } from '../../../../src/core/audit/reanalyse.ts';
import { byTheBook, job, without } from './job-by-the-book.ts';

const run = byTheBook();

describe('a run judged again', () => {
  it('with nothing changed is judged as it was, and as the record was driven', () => {
    const again = reanalyse(run, {});
    expect(again.differing).toBe(0);
    expect(again.rinse?.differs).toBe(false);
    expect(again.visits.map((v) => [v.name, v.originalVerdict, v.againVerdict, v.clearLaterS])).toEqual([
      ['Hall', 'done', 'done', 0],
      ['Kitchen', 'done', 'done', 0],
    ]);
    expect(run.driven.visits.map((v) => v.verdict.sinceS)).toEqual(again.visits.map((v) => v.original?.clear_at_s));
  });

  it('with settings that forbid a clear says otherwise, visit by visit, and leaves the record alone', () => {
    const before = JSON.stringify(run.input.entries);
    const again = reanalyse(run, { settings: { clearNtu: 0.001, clearShare: 1e-6, fittedMisfit: 1e-9 } });
    expect(again.differing).toBe(2);
    expect(again.visits.every((v) => v.differs && v.againVerdict !== 'done')).toBe(true);
    expect(JSON.stringify(run.input.entries)).toBe(before);
  });

  it('with hindsight dates the clear where it was said, give or take the second in which it lies', () => {
    const again = reanalyse(run, { hindsight: true });
    for (const v of again.visits) {
      expect(v.clearLaterS).not.toBeNull();
      expect(v.clearLaterS ?? 9).toBeLessThanOrEqual(1);
    }
  });

  it('refuses settings that there are not', () => {
    expect(() => reanalyse(run, { settings: { clearNtuu: 4 } })).toThrow('clearNtuu');
  });

  it('puts visits side by side even where one side has more', () => {
    const short = reanalyse(gather(job({ events: without((e) => e.emitter === 'kitchen') })), {});
    const two = reanalyse(run, {});
    const results = (r: typeof two) => ({
      visits: r.visits.flatMap((v) => (v.original ? [v.original] : [])),
      rinse: null,
    });
    const beside = compare(results(two), results(short), (id) => id);
    expect(beside.visits.map((v) => [v.emitter, v.original !== null, v.again !== null])).toEqual([
      ['hall', true, true],
      ['kitchen', true, false],
    ]);
    expect(compare(results(short), results(two), (id) => id).visits[1]).toMatchObject({
      original: null,
      differs: true,
    });
  });
});
