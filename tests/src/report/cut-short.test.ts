import { describe, expect, test } from 'vitest';
import { audit } from '../../../src/core/audit/audit.ts';
import { makeReport } from '../../../src/report/model.ts';
import { during } from '../core/audit/bent-jobs.ts';
import { at, job, without } from '../core/audit/job-by-the-book.ts';

/** A rinse that was left at 650 uS/cm of 900 (mains 300), then inhibitor: it conducts, too. */
const record = job({
  events: without((e) => e.data?.['water'] === 'after'),
  sample: during(at.rinse, at.end + 1, (s) => ({
    ...s,
    conductivityUsCm: s.timeS < at.protect + 5 ? 650 : 2000,
  })),
});
const report = makeReport({ ...record, seal: null, comments: [], madeAt: '2026-05-07T08:00:00.000Z' });
const body = JSON.stringify(report.sections.find((s) => s.id === 'water'));

describe('a rinse that was cut short, with inhibitor added after it', () => {
  const { figures, findings } = audit(record);

  test('left what it left, however much the inhibitor conducts', () => {
    expect(figures['remainingShare']).toBeGreaterThan(0.3);
    expect(figures['remainingShare']).toBeLessThan(0.6);
  });

  test('is one figure in the audit, its finding, the report and its exceptions', () => {
    const percent = (100 * (figures['remainingShare'] ?? 0)).toFixed(1);
    const finding = findings.find((f) => f.id === 'cleaner-remaining');
    expect(finding?.figures['share']).toBe(figures['remainingShare']);
    expect(report.exceptions.join()).toContain(
      `More cleaner is left than the inhibitor stands: ${percent} % of its dose, at most 20.0 %.`,
    );
    expect(report.facts.remaining.fact).toMatchObject({ said: expect.stringContaining(`${percent} % of its dose`) });
    expect(body).toContain(`${percent} % of its dose`);
  });
});
