import { readdirSync } from 'node:fs';
import { join } from 'node:path';
import { analyseRecording, type RecordingResult } from '../../src/core/analyse-recording.ts';
import { readRecording } from '../../src/recording/recording.ts';

export const goldenFolder = 'tests/golden/verdicts';
export const expectedName = 'expected.json';

export function goldenNames(): string[] {
  return readdirSync(goldenFolder).sort();
}

/** What is said of a golden recording, in the words of `limpid analyse --json`; figures to a hundredth. */
export function verdictOf(name: string): string {
  const { context, samples, events } = readRecording(join(goldenFolder, name));
  const { visits, rinse }: RecordingResult = analyseRecording(context, samples, events);
  const rounded = (_: string, value: unknown) => (typeof value === 'number' ? Number(value.toFixed(2)) : value);
  return `${JSON.stringify({ visits, rinse }, rounded, 1)}\n`;
}
