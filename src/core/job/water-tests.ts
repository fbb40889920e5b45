import { type TestItem, testItemNames } from '../chemistry/limits.ts';
import { type Reading, readTube, type WaterTest } from '../chemistry/water-test.ts';
import { withShare } from '../quantity/interval.ts';
import type { Job } from './state.ts';

/** The waters that are tested, as people call them. */
export const waterTitles = {
  mains: 'Mains water',
  before: 'System water, before',
  after: 'System water, after',
} as const;
export type Water = keyof typeof waterTitles;

export function isWater(name: unknown): name is Water {
  return typeof name === 'string' && Object.hasOwn(waterTitles, name);
}

/** Standard uncertainty of a typed water test, a share of it: kits and pocket meters, our own estimate, no source. */
const testShare = 0.05;

/** In the turbidity tube: the mark was in sight through all of the water. */
export const stillSeen = 'still in sight';

/** A water test of this run as it was typed; empty where none was. */
export function testOf(job: Pick<Job, 'entries'>, water: Water): WaterTest {
  const data = job.entries[`sample ${water}`]?.data ?? {};
  const test: Partial<Record<TestItem, Reading>> = {};
  for (const item of testItemNames) {
    const value = data[item];
    // pH is a logarithm: a tenth, not a share.
    if (typeof value !== 'number') continue;
    const reading: Reading = item === 'ph' ? { value, u: 0.1 } : withShare(value, testShare);
    test[item] = data[`${item}By`] === 'rig' ? { ...reading, by: 'rig' } : reading;
  }
  const { tube } = data;
  const tubed = test.turbidity || typeof tube !== 'number' ? null : readTube(tube, data['tubeMark'] === stillSeen);
  return tubed ? { ...test, turbidity: tubed } : test;
}
