import { expect, test } from 'vitest';
import { audit } from '../../../src/core/audit/audit.ts';
import type { Sample } from '../../../src/core/quantity/sample.ts';
import { makeReport } from '../../../src/report/model.ts';
import { job, samples } from '../core/audit/job-by-the-book.ts';

/** Ten readings in a second of which three tell of a blow of the valve; a lone wild one a while later. */
const blow = [1.2, 1.2, 1.2, 3.31, 3.58, 2.4, 1.2, 1.2, 1.2, 1.2];
const blown = samples.flatMap((s): Sample[] => {
  if (s.timeS === 1200) return blow.map((pressureBar, i) => ({ ...s, timeS: 1200 + i / 10, pressureBar }));
  return s.timeS === 1300 ? [{ ...s, pressureBar: 9 }] : [s];
});

test('the highest pressure is one number in audit and report: the highest reading that is no lone wild one', () => {
  const record = job({ record: { samples: blown } });
  expect(audit(record).figures['pressureMostBar']).toBe(3.58);
  const report = makeReport({ ...record, seal: null, comments: [], madeAt: '2026-05-07T08:00:00.000Z' });
  const blocks = report.sections.flatMap((s) => s.blocks);
  const pictures = blocks.find((b) => b.kind === 'pictures' && b.items.some((i) => i.title === 'Pressure'));
  expect(pictures).toMatchObject({
    items: expect.arrayContaining([expect.objectContaining({ note: expect.stringMatching(/ to 3\.58 bar$/) })]),
  });
  const table = JSON.stringify(blocks.find((b) => b.kind === 'table' && b.caption === 'The whole run'));
  expect(table).toMatch(/ to 3\.58"/);
  expect(table).not.toMatch(/ to 9\.00"/);
});
