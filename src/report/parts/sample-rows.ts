import { type TestItem, testItems } from '../../core/chemistry/limits.ts';
import type { Reading, TestRow } from '../../core/chemistry/water-test.ts';
import { figure } from '../fact.ts';
import type { Gathered } from '../gather.ts';

export interface SampleRow {
  readonly item: TestItem;
  readonly title: string;
  readonly mains: string;
  readonly before: string;
  readonly after: string;
  readonly limit: string;
  readonly origin: string;
  readonly verdict: TestRow['verdict'];
}

/** Every test that was made or has a limit, by the code of the stages' pages. */
export function sampleRows(g: Gathered): SampleRow[] {
  return g.driven.worked.compared.map((row) => ({
    item: row.item,
    title: testItems[row.item].title,
    mains: shown(row.mains, row.item),
    before: shown(row.before, row.item),
    after: shown(row.after, row.item),
    limit: limitWords(row),
    origin: row.origin ?? '',
    verdict: row.verdict,
  }));
}

function shown(value: Reading | 'not-measured', item: TestItem): string {
  if (value === 'not-measured') return 'not measured';
  const { unit } = testItems[item];
  const tube = value.tubeCm === undefined ? '' : ` (tube, ${figure(value.tubeCm, 'cm')})`;
  const by = value.by === 'rig' ? " (rig's sensor)" : '';
  return `${value.below === undefined ? figure(value.value, unit) : `under ${figure(value.below, unit)}`}${tube}${by}`;
}

function limitWords({ item, least, most, verdict }: TestRow): string {
  const { unit } = testItems[item];
  if (verdict === 'no-mains') return 'counts from the mains, which were not tested';
  if (least !== null && most !== null) return `${figure(least, '')} to ${figure(most, unit)}`;
  if (most !== null) return `at most ${figure(most, unit)}`;
  return least === null ? 'none set' : `at least ${figure(least, unit)}`;
}
