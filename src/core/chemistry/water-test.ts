import { againstLimit, coverage, type Uncertain } from '../quantity/interval.ts';
import { outOfRange, type Refusal } from '../quantity/refusal.ts';
import { tubeNtu } from './turbidity-tube.ts';
import { type Limit, type LimitSet, type TestItem, testItemNames, testItems } from './limits.ts';

/** A reading, and how it was made where that limits what it says. */
export interface Reading extends Uncertain {
  /** Depth in a turbidity tube, cm, from which the value was reckoned. */
  readonly tubeCm?: number;
  /** Read off the rig's own sensor, not off an instrument held to a sample. */
  readonly by?: 'rig';
  /** All that is known is that it is less than this. */
  readonly below?: number;
}

/** One test of water: what was read; what is absent was not measured. */
export type WaterTest = Readonly<Partial<Record<TestItem, Reading>>>;

/**
 * Turbidity from the depth in a tube; null where the depth is none. Of water in which the mark stays in sight no more is
 * known than that it is clearer: anything between nought and the tube's figure, with the spread of an even chance.
 */
export function readTube(depthCm: number, isStillVisible: boolean): Reading | null {
  const read = tubeNtu(depthCm, isStillVisible);
  if (!read.ok) return null;
  const { ntu, isUpperBound } = read.value;
  if (!isUpperBound) return { ...ntu, tubeCm: depthCm };
  return { value: ntu.value / 2, u: ntu.value / Math.sqrt(12), tubeCm: depthCm, below: ntu.value };
}

export interface TestRow {
  readonly item: TestItem;
  readonly before: Reading | 'not-measured';
  readonly after: Reading | 'not-measured';
  readonly mains: Reading | 'not-measured';
  readonly least: number | null;
  readonly most: number | null;
  readonly origin: string | null;
  /** `no-mains`: the limit counts from a mains reading that is not there. */
  readonly verdict: 'inside' | 'outside' | 'undecided' | 'no-limit' | 'no-mains' | 'not-measured';
}

/** Readings that cannot be: each a refusal that says what was found and what is possible. */
export function impossibleReadings(test: WaterTest): readonly Refusal[] {
  return testItemNames.flatMap((item) => {
    const found = test[item];
    if (!found) return [];
    const { title, low, high, unit } = testItems[item];
    const refusal = outOfRange(title, found.value, low, high, unit);
    return refusal ? [refusal] : [];
  });
}

/**
 * Items in which the mains are surely dirtier than the system before the work: most likely the samples were swapped.
 * Conductivity and turbidity only; empty when all is as it should be.
 */
export function swappedItems(mains: WaterTest, system: WaterTest): readonly TestItem[] {
  return (['conductivity', 'turbidity'] as const).filter((item) => {
    const m = mains[item];
    const s = system[item];
    return m !== undefined && s !== undefined && m.value - s.value > coverage * Math.hypot(m.u, s.u);
  });
}

/** Before, after and limit side by side, for every item that was read or has a limit. */
export function compareTests(before: WaterTest, after: WaterTest, mains: WaterTest, set: LimitSet): readonly TestRow[] {
  const rows: TestRow[] = [];
  for (const item of testItemNames) {
    const limit = set.limits.find((l) => l.item === item);
    if (!limit && !before[item] && !after[item] && !mains[item]) continue;
    const bounds = limit ? boundsOf(limit, mains[item]) : null;
    rows.push({
      item,
      before: before[item] ?? 'not-measured',
      after: after[item] ?? 'not-measured',
      mains: mains[item] ?? 'not-measured',
      least: bounds?.least ?? null,
      most: bounds?.most ?? null,
      origin: limit?.origin ?? null,
      verdict: verdictOf(after[item], bounds),
    });
  }
  return rows;
}

interface Bounds {
  readonly least: number | null;
  readonly most: number | null;
  readonly lacksMains: boolean;
}

function boundsOf(limit: Limit, mains: Uncertain | undefined): Bounds {
  const least = limit.least ?? null;
  if (limit.overMains === undefined && limit.overMainsShare === undefined)
    return { least, most: limit.most ?? null, lacksMains: false };
  if (!mains) return { least, most: null, lacksMains: true };
  // Of an amount and a share the larger counts: a share of next to nothing would be no room at all.
  const room = Math.max(limit.overMains ?? 0, (limit.overMainsShare ?? 0) * mains.value);
  return { least, most: Math.min(limit.most ?? Infinity, mains.value + room), lacksMains: false };
}

function verdictOf(after: Uncertain | undefined, bounds: Bounds | null): TestRow['verdict'] {
  if (!after) return 'not-measured';
  if (!bounds) return 'no-limit';
  if (bounds.lacksMains) return 'no-mains';
  const upper = bounds.most === null ? 'under' : againstLimit(after, bounds.most);
  const lower = bounds.least === null ? 'under' : againstLimit({ value: -after.value, u: after.u }, -bounds.least);
  if (upper === 'over' || lower === 'over') return 'outside';
  return upper === 'undecided' || lower === 'undecided' ? 'undecided' : 'inside';
}
