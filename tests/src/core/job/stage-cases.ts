import type { RunContext } from '../../../../src/core/job/context.ts';
import { fold } from '../../../../src/core/job/fold.ts';
import { type LiveFigures, noFigures } from '../../../../src/core/job/stages/live.ts';
import { gateOf } from '../../../../src/core/job/stages/page.ts';
import { type JobState, startState } from '../../../../src/core/job/state.ts';
import { lookOf } from '../../../../src/core/job/view.ts';
import { analysisOf, context, verdict } from './job-cases.ts';

export type Data = Readonly<Record<string, string | number | boolean>>;
export type Step = readonly [event: string, note?: string, data?: Data | undefined, emitter?: string];

export function told(steps: readonly Step[], begun: RunContext = context): JobState {
  return steps
    .map(([event, note = '', data, emitter = ''], i) => ({
      id: `e${i}`,
      who: 'loopback',
      event: { timeS: (i + 1) * 10, event, emitter, note, ...(data ? { data } : {}) },
    }))
    .reduce(fold, startState(begun));
}

export const look = (state: JobState, live: LiveFigures = noFigures, rinse = verdict('idle'), begun = context) =>
  lookOf({
    head: { context: begun },
    state,
    live,
    timeS: 1e4,
    analysis: analysisOf(verdict('idle'), { rinse: { clearAtS: null, withheld: false, verdict: rinse } }),
  });
export const missing = (...args: Parameters<typeof look>): string[] => gateOf(look(...args)).map((m) => m.code);

/** A live figure set as a kit would give it. */
export function measured(now: Partial<LiveFigures['now']>, more: Partial<LiveFigures> = {}): LiveFigures {
  const keys = (['flowLpm', 'pressureBar', 'returnC', 'conductivityUsCm', 'turbidityNtu'] as const).filter(
    (k) => now[k] !== undefined,
  );
  return { ...noFigures, now: { ...noFigures.now, ...now }, seen: new Set(keys), ...more };
}

export const label = (what: string): Step => ['label', '', { what, amount: 1, unit: 'l/100 l' }];
export const tick = (id: string): Step => ['check', id, { done: true }];
export const read = (id: string): Step => ['caution-read', id];
export const joined: readonly Step[] = [tick('rig-in-line'), tick('return-low'), tick('hoses-tight')];
export const steady = Array.from({ length: 301 }, (_, i) => ({ timeS: i, bar: 1.05, celsius: 20 }));
export const falling = steady.map((p) => ({ ...p, bar: 1.05 - p.timeS * 0.0005 }));
export const ran = (minutes: number) => ({ countedS: 60 * minutes, isRunning: true, stops: [], lostS: {} });
export const vented: RunContext = { ...context, system: 'open-vented' };
