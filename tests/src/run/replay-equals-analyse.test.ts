import { mkdtempSync, rmSync } from 'node:fs';
import { tmpdir } from 'node:os';
import { join } from 'node:path';
import { setImmediate } from 'node:timers/promises';
import { afterEach, describe, expect, it } from 'vitest';
import { simulateRun } from '../../../simulators/dataset.ts';
import { analyseRecording, resultOf } from '../../../src/core/analyse-recording.ts';
import { createAnalysis } from '../../../src/core/analyse.ts';
import { defaultLineSettings, type LineSettings } from '../../../src/core/line/settings.ts';
import { readRecording, writeRecording } from '../../../src/recording/recording.ts';
import { Run } from '../../../src/run/run.ts';
import { replaySource } from '../../../src/run/source.ts';
import { openStore } from '../../../src/store/open.ts';
import { SteppedClock } from './stepped-clock.ts';

const folders: string[] = [];
const folder = (): string => {
  const made = mkdtempSync(join(tmpdir(), 'limpid-replay-'));
  folders.push(made);
  return made;
};
afterEach(() => {
  for (const made of folders.splice(0)) rmSync(made, { recursive: true, force: true });
});

/** A recording played through source, wire, run and store, as `limpid start --replay` joins them. */
async function replayed(recording: string, settings: LineSettings) {
  const clock = new SteppedClock();
  const source = await replaySource(recording, clock);
  const store = openStore(folder());
  const { context } = source;
  if (!context) throw new Error('a recording has a context');
  const head = { runId: 'r1', title: source.title, simulated: true, startedAt: '2026-01-02T03:04:05Z', context };
  const faults: unknown[] = [];
  const run = new Run({
    store: store.createRun({ ...head, settings }),
    clock,
    createAnalysis,
    source: source.name,
    fault: (error) => faults.push(error),
  });
  // The link opens when the run's clock goes already, and not on a whole second.
  clock.run(0.37);
  let hasEnded = false;
  const link = await source.open({
    bytes: (chunk, atS) => run.bytes(chunk, atS),
    state(state) {
      hasEnded ||= state.kind === 'ended';
      if (!hasEnded) run.transportState(state);
    },
    replayed: (event, atS) => run.replayed(event, atS),
    hearing: run.hearing,
    refusals: run.refusals,
    zeroS: run.zeroS,
  });
  while (!hasEnded) {
    clock.run(0.1);
    await setImmediate();
  }
  expect(faults).toEqual([]);
  const said = resultOf(run.course.analysis, settings);
  await link.close();
  run.stop();
  store.close();
  return said;
}

/** As the replay lays it on its own clock. */
function aSecondLater<T extends { readonly timeS: number }>(row: T): T {
  return { ...row, timeS: Math.round((row.timeS + 1) * 1000) / 1000 };
}

describe('a recording, replayed and analysed', () => {
  it.each([
    ['echo', 2],
    ['restarts', 1],
    ['rinse', 3],
  ])('says the same of visits and rinse, to the sample: %s', async (family, seed) => {
    const path = join(folder(), 'recording');
    const { context, samples, events } = simulateRun(family, seed);
    writeRecording(path, { context, samples, events });
    const recording = readRecording(path);
    const settings = { ...defaultLineSettings, clearNtu: 4 };
    const after = analyseRecording(
      recording.context,
      recording.samples.map(aSecondLater),
      recording.events.map(aSecondLater),
      { settings },
    );
    expect(after.visits.flatMap((v) => v.clears).length).toBeGreaterThan(0);
    expect(await replayed(path, settings)).toEqual(after);
  });
});
