import { expect, it } from 'vitest';
import { createAnalysis } from '../../../../src/core/analyse.ts';
import { dueFrom } from '../../../../src/core/quantity/due.ts';
import { makeRun, oneVisit } from '../line/made-run.ts';

it('goes by every second of a day, and by the last day of what is longer', () => {
  expect(dueFrom(10, 12.7)).toBe(10);
  expect(dueFrom(10, 86_410)).toBe(10);
  expect(dueFrom(10, 9_000_000.4)).toBe(9_000_000 - 86_400);
});

it('a time beyond belief ends in silence like any other, and the next reading is judged as after one', () => {
  const run = makeRun({ endS: 300, events: oneVisit });
  const after = (leapS: number): string[] => {
    const analysis = createAnalysis(run.context);
    for (const event of run.events) analysis.event(event);
    for (const sample of run.samples) analysis.sample(sample);
    analysis.advance(300 + leapS);
    const silent = analysis.verdict.reason.code;
    for (const sample of run.samples.slice(-60)) analysis.sample({ ...sample, timeS: sample.timeS + leapS + 1 });
    return [silent, analysis.verdict.reason.code];
  };
  expect(after(9_000_000)).toEqual(after(80_000));
  expect(after(9_000_000)[0]).toBe('silence');
});
