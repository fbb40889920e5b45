import { defaultLimits, type TestItem, testItemNames, testItems } from '../../core/chemistry/limits.ts';
import { compareTests, type TestRow, type WaterTest } from '../../core/chemistry/water-test.ts';
import { exact, type Uncertain, withShare } from '../../core/quantity/interval.ts';
import { figure } from '../fact.ts';
import { samplesOf } from '../facts.ts';
import { dataNumber, type Gathered } from '../gather.ts';

export interface SampleRow {
  readonly title: string;
  readonly mains: string;
  readonly before: string;
  readonly after: string;
  readonly limit: string;
  readonly origin: string;
  readonly verdict: TestRow['verdict'];
}

/** Standard uncertainty of a typed water test: a twentieth of it, of pH a tenth. Our own estimate, no source. */
const testShare = 0.05;
const phU = 0.1;

function testOf(g: Gathered, water: 'mains' | 'before' | 'after'): WaterTest {
  const test: Partial<Record<TestItem, Uncertain>> = {};
  for (const { event } of samplesOf(g, water))
    for (const item of testItemNames) {
      const value = dataNumber(event, item);
      if (value !== null) test[item] = item === 'ph' ? { value, u: phU } : withShare(value, testShare);
    }
  return test;
}

/** What was given of the mains before the run, where no sample of them was tested. */
function mainsOf(g: Gathered): WaterTest {
  const { turbidity_ntu, conductivity_us_cm } = g.input.head.context.mains;
  return { turbidity: exact(turbidity_ntu), conductivity: exact(conductivity_us_cm), ...testOf(g, 'mains') };
}

export function sampleRows(g: Gathered): SampleRow[] {
  const set = defaultLimits([]);
  return compareTests(testOf(g, 'before'), testOf(g, 'after'), mainsOf(g), set).map((row) => ({
    title: testItems[row.item].title,
    mains: shown(row.mains, row.item),
    before: shown(row.before, row.item),
    after: shown(row.after, row.item),
    limit: limitWords(row),
    origin: row.origin ?? '',
    verdict: row.verdict,
  }));
}

function shown(value: Uncertain | 'not-measured', item: TestItem): string {
  return value === 'not-measured' ? 'not measured' : figure(value.value, testItems[item].unit);
}

function limitWords({ item, least, most, verdict }: TestRow): string {
  const { unit } = testItems[item];
  if (verdict === 'no-mains') return 'counts from the mains, which were not tested';
  if (least !== null && most !== null) return `${figure(least, '')} to ${figure(most, unit)}`;
  if (most !== null) return `at most ${figure(most, unit)}`;
  return least === null ? 'none set' : `at least ${figure(least, unit)}`;
}
