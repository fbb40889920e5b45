import { expect, test } from 'vitest';
import { makeBenchRun } from '../../bench/dataset.ts';
import { disturb } from './disturbed.ts';

test('one visit, and what a van has most: no fault brings a false clear, and none is lost for good', () => {
  const run = makeBenchRun('slow-rate', 9, { visits: 1 });
  const kinds = ['killed', 'storm', 'neighbour'];
  const { undisturbed, disturbed, brought, faults } = disturb(run, 9, kinds);
  expect(faults).toEqual([]);
  expect(brought).toEqual([]);
  expect(undisturbed.clears).toBeGreaterThan(0);
  expect(disturbed.clears).toBeGreaterThan(0);
});
