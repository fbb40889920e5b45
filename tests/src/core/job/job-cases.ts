import fc from 'fast-check';
import type { Analysis } from '../../../../src/core/analyse.ts';
import type { RunContext } from '../../../../src/core/job/context.ts';
import { knownEvents, markerNames, stageNames } from '../../../../src/core/job/event.ts';
import { fold } from '../../../../src/core/job/fold.ts';
import { type Entry, type JobState, startState } from '../../../../src/core/job/state.ts';
import { defaultLineSettings } from '../../../../src/core/line/settings.ts';
import type { Verdict } from '../../../../src/core/line/verdict.ts';

/** An invented system of three emitters. */
export const context: RunContext = {
  emitters: [
    { id: 'a', name: 'Attic', volume_l: 5 },
    { id: 'b', name: 'Bath', volume_l: 6 },
    { id: 'c', name: 'Cellar', volume_l: 7 },
  ],
  loop_volume_l: 60,
  return_volume_l: 5,
  mains: { turbidity_ntu: 0.4, conductivity_us_cm: 400 },
  sample_hz: 10,
};

/** Head of a run of that context, as a store keeps it. */
export const head = { runId: 'r1', title: 'T', simulated: false, startedAt: '2026-01-02T03:04:05Z', context };

export type Told = readonly [event: string, emitter?: string, data?: Entry['event']['data']];

/** Entries with ids e0, e1, ... at 10 s, 20 s, ... */
export function entries(told: readonly Told[]): Entry[] {
  return told.map(([event, emitter = '', data], i) => ({
    id: `e${i}`,
    who: 'loopback',
    event: { timeS: (i + 1) * 10, event, emitter, note: '', ...(data === undefined ? {} : { data }) },
  }));
}

export function folded(told: readonly Told[]): JobState {
  return entries(told).reduce(fold, startState(context));
}

const names = [
  ...knownEvents,
  ...[...stageNames, ...markerNames].map((s) => `stage:${s}`),
  'stage:nowhere',
  'never-heard-of',
];

/** Any events in any order, undoings of earlier, later and unknown ones among them. */
export const anyEntries = fc.array(
  fc.record({
    event: fc.constantFrom(...names),
    emitter: fc.constantFrom('', 'a', 'b', 'c', 'zz'),
    undoes: fc.option(fc.nat(30), { freq: 4, nil: null }),
    note: fc.constantFrom('', 'reason'),
  }),
  { maxLength: 30 },
);

export function toEntries(
  list: readonly { event: string; emitter: string; undoes: number | null; note: string }[],
): Entry[] {
  return list.map(({ event, emitter, undoes, note }, i) => ({
    id: `e${i}`,
    who: 'loopback',
    event: { timeS: i, event, emitter, note, ...(undoes === null ? {} : { data: { undoes: `e${undoes}` } }) },
  }));
}

export function verdict(state: Verdict['state'], done = false): Verdict {
  return { state, done, reason: { code: 'x', figures: {} }, sinceS: 0, confidence: null, forecast: null };
}

/** An analysis that has said just this. */
export function analysisOf(now: Verdict, more: Partial<Analysis> = {}): Analysis {
  return {
    sample: () => undefined,
    event: () => undefined,
    know: () => undefined,
    advance: () => undefined,
    settings: defaultLineSettings,
    verdict: now,
    figures: {
      backgroundNtu: null,
      clearLevelNtu: null,
      excessNtu: null,
      noiseNtu: null,
      litresSincePassL: null,
      litresNeededL: null,
    },
    visit: null,
    visits: [],
    rinse: null,
    notices: [],
    ...more,
  };
}
