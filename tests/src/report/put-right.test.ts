import { describe, expect, test } from 'vitest';
import { audit } from '../../../src/core/audit/audit.ts';
import type { RunRecord } from '../../../src/core/audit/record.ts';
import type { RunEvent } from '../../../src/core/job/event.ts';
import { reportHtml } from '../../../src/report/html.ts';
import { makeReport, type Report } from '../../../src/report/model.ts';
import { reportPdf } from '../../../src/report/pdf.ts';
import { at, event, events, job } from '../core/audit/job-by-the-book.ts';

const isCleaner = (e: RunEvent): boolean => e.event === 'dose' && e.data?.['what'] === 'cleaner';
/** A comma slipped; `later` is told at the hand-over, of the entry of that name. */
const slipped = (...later: readonly RunEvent[]): RunRecord =>
  job({
    events: (all) => [...all.map((e) => (isCleaner(e) ? { ...e, data: { ...e.data, litres: 3.5 } } : e)), ...later],
    who: (e) => (e.event === 'corrected' || e.event === 'undo' ? 'loopback' : 'device-1'),
  });
const dose = `e${events.findIndex(isCleaner)}`;
const putRight = event(at.handOver + 40, 'corrected', {
  data: { corrects: dose, of: 'dose', what: 'cleaner', litres: 0.35 },
});
const takenBack = event(at.handOver + 40, 'undo', { data: { undoes: dose, of: 'dose' } });
const reportOf = (of: RunRecord) => makeReport({ ...of, seal: null, comments: [], madeAt: '2026-05-07T08:00:00.000Z' });
const table = (of: Report, caption: string) =>
  of.sections.flatMap((s) => s.blocks).find((b) => b.kind === 'table' && b.caption === caption);

describe('a dose that was put right at the hand-over', () => {
  const record = slipped(putRight);
  const report = reportOf(record);

  test('counts with its right figure in the audit and the report', () => {
    expect(audit(slipped()).findings.map((f) => f.id)).toContain('overdose');
    expect(audit(record).findings).toEqual([]);
    expect(report.facts.cleaner.fact).toEqual({ said: '0.35 l added' });
  });

  test('stands in the list struck out, with who put it right and when, before what took its place', () => {
    expect(table(report, 'Chemicals added')).toMatchObject({
      rows: [
        [
          '0:07:25',
          'cleaner',
          { struck: '3.50 l' },
          expect.any(String),
          'typed wrong: put right at 1:25:40 (at the bridge itself)',
        ],
        ['0:07:25', 'cleaner', '0.35 l', expect.any(String), '-'],
        [expect.any(String), 'inhibitor', '0.35 l', expect.any(String), '-'],
      ],
    });
    expect(table(report, 'Typed figures put right or taken back')).toMatchObject({
      rows: [['0:07:25', 'Litres of cleaner added', { struck: '3.50 l' }, '0.35 l', expect.any(String)]],
    });
    expect(report.exceptions.join()).toContain('1 typed figure was put right or taken back');
  });

  test('is struck out on page and paper', async () => {
    expect(reportHtml(report)).toContain('<s>3.50 l</s>');
    expect((await reportPdf(report)).length).toBeGreaterThan(1000);
  });
});

test('of a water test only the figures that were wrong are struck out, in the order in which they were typed', () => {
  const isAfter = (e: RunEvent): boolean => e.event === 'sample' && e.data?.['water'] === 'after';
  const after = events.findIndex(isAfter);
  const data = { ...events[after]?.data, corrects: `e${after}`, of: 'sample', ph: 8.1 };
  const later = event(at.handOver + 50, 'corrected', { data });
  const rows = table(
    reportOf(slipped(later, { ...putRight, timeS: at.handOver + 60 })),
    'Typed figures put right or taken back',
  );
  expect(rows).toMatchObject({
    rows: [
      ['0:07:25', 'Litres of cleaner added', { struck: '3.50 l' }, '0.35 l', expect.any(String)],
      [
        expect.any(String),
        'System water, after',
        { struck: expect.stringMatching(/^pH [\d.]+$/) },
        'pH 8.10',
        expect.any(String),
      ],
    ],
  });
});

test('a dose that never was is struck out with nothing in its place', () => {
  expect(table(reportOf(slipped(takenBack)), 'Chemicals added')).toMatchObject({
    rows: [
      ['0:07:25', 'cleaner', { struck: '3.50 l' }, expect.any(String), expect.stringMatching(/taken back at/)],
      {},
    ],
  });
});

test('where nothing was typed wrong, nothing is said of it', () => {
  expect(table(reportOf(job()), 'Typed figures put right or taken back')).toBeUndefined();
});
