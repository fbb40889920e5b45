import { describe, expect, test } from 'vitest';
import { audit } from '../../../src/core/audit/audit.ts';
import type { RunRecord } from '../../../src/core/audit/record.ts';
import type { Sample } from '../../../src/core/quantity/sample.ts';
import { makeReport } from '../../../src/report/model.ts';
import { at, during, job, without } from '../core/audit/job-by-the-book.ts';

/** A rinse that was left at 650 uS/cm of 900 (mains 300), then inhibitor: it conducts, too. */
const record = job({
  events: without((e) => e.data?.['water'] === 'after'),
  sample: during(at.rinse, at.end + 1, (s) => ({
    ...s,
    conductivityUsCm: s.timeS < at.protect + 5 ? 650 : 2000,
  })),
});
const reportOf = (of: RunRecord) => makeReport({ ...of, seal: null, comments: [], madeAt: '2026-05-07T08:00:00.000Z' });
const report = reportOf(record);
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

const dirty = during(at.rinse, at.after, (s) => ({ ...s, turbidityNtu: 9 + (s.turbidityNtu ?? 0) }));

test('a rinse that was under its limits, but not for long enough, is not called above mains level', () => {
  const unseen = (s: Sample) => ({ ...s, turbidityNtu: null, conductivityUsCm: null });
  const { headline, exceptions } = reportOf(job({ sample: during(at.rinse, at.after - 8, unseen) }));
  expect(headline).toContain('rinse ended under its limits, but too soon to tell');
  expect(exceptions.join()).toContain('Rinse: Within its limits, but seen for a few seconds only');
  expect(reportOf(job({ sample: dirty })).headline).toContain('rinse ended above mains level');
});

test('exceptions come the gravest first, and stand whole further on where the first page has no room for all', () => {
  const { exceptions, sections } = reportOf(
    job({
      sample: dirty,
      context: (c) => ({ ...c, emitters: [...c.emitters, { id: 'loft', name: 'Loft', volume_l: 5 }] }),
      events: (all) =>
        all.map((e) => {
          if (e.event.startsWith('stage:')) return { ...e, note: 'agreed with the client' };
          return e.data?.['water'] === 'after' ? { ...e, data: { ...e.data, ph: 6.2 } } : e;
        }),
    }),
  );
  const where = ['Rinse: Not at mains level', 'pH is outside', 'Loft: not worked on', 'Went on from'];
  const order = where.map((words) => exceptions.findIndex((e) => e.includes(words)));
  expect(order).not.toContain(-1);
  expect(order).toEqual(order.toSorted((a, b) => a - b));
  const first = sections[0]?.blocks.find((b) => b.kind === 'list');
  expect(first?.items.join()).toContain('pH is outside its limit');
  expect(first?.items.at(-1)).toMatch(/^and \d+ more, all under "Decisions, cautions, notes, gaps"$/);
  const whole = sections.find((s) => s.id === 'record')?.blocks.find((b) => b.kind === 'list');
  expect(whole?.items).toEqual(exceptions);
});

test('a visit with a gap says that litres and solids are at least so much', () => {
  const emitters = (of: RunRecord) => JSON.stringify(reportOf(of).sections.find((s) => s.id === 'emitters'));
  const gap = job({ sample: (s) => (s.timeS > at.hall + 100 && s.timeS < at.hall + 160 ? null : s) });
  expect(emitters(gap)).toMatch(/"Hall".*?"at least \d+","at least [\d.]+ ±/);
  expect(emitters(gap)).not.toMatch(/"Kitchen",[^\]]*at least/);
  expect(reportOf(gap).facts.solids.fact).toMatchObject({ said: expect.stringMatching(/^at least /) });
  expect(emitters(job())).not.toContain('at least');
});
