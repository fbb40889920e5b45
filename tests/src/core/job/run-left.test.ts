import { describe, expect, it } from 'vitest';
import { runLeft } from '../../../../src/core/job/run-left.ts';
import { runForecast } from '../../../../src/core/job/whole-run-forecast.ts';
import { forecastView } from '../../../../src/core/job/when-done.ts';
import { say } from '../../../../src/core/message/message.ts';
import type { Visit } from '../../../../src/core/line/verdict.ts';

function visit(emitter: string, fromMin: number, toMin: number | null): Visit {
  return {
    emitter,
    visit: 1,
    fromS: 60 * fromMin,
    toS: toMin === null ? null : 60 * toMin,
    passesS: [],
    pulses: [],
    clears: [],
    verdict: {
      state: 'idle',
      done: false,
      reason: { code: 'idle', figures: {} },
      sinceS: 0,
      confidence: null,
      forecast: null,
    },
    withheld: false,
  };
}

describe('what is left of a run', () => {
  const emitters = ['a', 'b', 'c', 'd', 'e'];

  it('counts from opening to opening, adds visits of one emitter, and takes the open one apart', () => {
    const visits = [visit('a', 0, 9), visit('b', 10, 19), visit('a', 20, 25), visit('c', 26, null)];
    const same = runForecast({ doneMin: [16, 10], openMin: 4, left: 2, stagesMin: [] });
    expect(runLeft(visits, emitters, [], 60 * 30)).toEqual(same);
  });

  it('stages still to come add their time; stages that have none given add nothing', () => {
    const bare = runLeft([], emitters, [], 0);
    const more = runLeft([], emitters, ['circulate', 'rinse', 'emitters'], 0);
    expect(more.minutes - bare.minutes).toBeCloseTo(30 + 115 / 3, 9);
    expect(bare.basis).toBe('first-guess');
  });

  it('rests on the usual times of the stages alone when no emitter is left, however many were done', () => {
    expect(runLeft([visit('a', 0, 9)], [], ['rinse'], 600).basis).toBe('stages');
    expect(runLeft([], [], ['rinse'], 600).basis).toBe('stages');
    expect(runLeft([visit('a', 0, 9)], emitters, ['rinse'], 600).basis).toBe('few-visits');
  });

  it('nothing left is nothing to wait for', () => {
    expect(runLeft([visit('a', 0, 9)], ['a'], [], 600)).toMatchObject({ minutes: 0, fromMin: 0, toMin: 0 });
  });
});

describe('in words', () => {
  it('has one form for hours, short and long; the short one is rounded more', () => {
    const told = (minutes: number, fromMin: number, toMin: number) =>
      forecastView({ minutes, fromMin, toMin, basis: 'visits' }, say);
    expect(told(217, 62, 452)).toMatchObject({
      text: 'All done in about 3 h 40 min (1 h to 7 h 30 min).',
      short: '3 h 30 min left (1 h to 8 h)',
    });
    expect(told(44, 8, 59)?.short).toBe('45 min left (8 min to 1 h)');
  });
});
