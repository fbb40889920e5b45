import { join } from 'node:path';
import { describe, expect, it } from 'vitest';
import { analyseRecording, type VisitResult } from '../../src/core/analyse-recording.ts';
import { readRecording } from '../../src/recording/recording.ts';
import { goldenFolder, goldenNames } from './verdicts.ts';

const clearCodes = ['clear', 'done', 'clear-afterwards'];

/** Whatever is said of a visit, its figures, its reason and its chance say the same. */
function consistent({ pulses, clear_at_s, done, confidence, reason }: VisitResult): void {
  for (const { onset_s, said_s, peak_s, end_s } of pulses) {
    const inOrder = [onset_s, peak_s, end_s].filter((at) => at !== null);
    expect(inOrder).toEqual(inOrder.toSorted((a, b) => a - b));
    expect(onset_s).toBeLessThanOrEqual(said_s);
  }
  const isClear = clear_at_s !== null;
  expect(clearCodes.includes(reason.code)).toBe(isClear);
  expect([done && !isClear, confidence !== null && !isClear]).toEqual([false, false]);
}

describe.each([false, true])('a recording, with hindsight: %s', (hindsight) => {
  it.each(goldenNames())('%s: no verdict contradicts itself', (name) => {
    const { context, samples, events } = readRecording(join(goldenFolder, name));
    const { visits } = analyseRecording(context, samples, events, { hindsight });
    expect(visits.length).toBeGreaterThan(0);
    for (const visit of visits) consistent(visit);
  });
});
