import { describe, expect, it } from 'vitest';
import { contextNow, tellsContext } from '../../../../src/core/job/context-now.ts';
import { DirtBook, gramsOf, usualKeptShare } from '../../../../src/core/job/dirt.ts';
import type { RunEvent } from '../../../../src/core/job/event.ts';
import { fold } from '../../../../src/core/job/fold.ts';
import { handsToday } from '../../../../src/core/job/hands.ts';
import { passesLeft } from '../../../../src/core/job/never-clears.ts';
import { startState } from '../../../../src/core/job/state.ts';
import { whenDone } from '../../../../src/core/job/when-done.ts';
import type { Visit } from '../../../../src/core/line/verdict.ts';
import { context } from './job-cases.ts';
import { label, look, measured, type Step, told as steps } from './stage-cases.ts';

type Told = readonly [timeS: number, event: string, emitter?: string, more?: Partial<RunEvent>];

function jobOf(...told: readonly Told[]) {
  return told.reduce(
    (state, [timeS, event, emitter = '', more = {}], i) =>
      fold(state, { id: `e${i}`, who: 'loopback', event: { timeS, event, emitter, note: '', ...more } }),
    startState(context),
  ).job;
}
const typed = (timeS: number, what: string, value: number): Told => [timeS, 'typed', '', { data: { what, value } }];
const open = (timeS: number): Told => [timeS, 'emitter-open', 'a'];

describe('a pass as time of the hand', () => {
  it('lasts from its told beginning; untold, thirty seconds, never before the opening or the pass before', () => {
    const { shaken } = jobOf(
      open(100),
      [110, 'agitate-end'],
      [200, 'agitate-start'],
      [215, 'agitate-end'],
      [230, 'agitate-end'],
      [300, 'agitate-end'],
    );
    expect(shaken.map((s) => [s.fromS, s.toS])).toEqual([
      [100, 110],
      [200, 215],
      [215, 230],
      [270, 300],
    ]);
  });

  it('is none when it was undone', () => {
    expect(jobOf(open(0), [60, 'agitate-end'], [62, 'pass-undone']).shaken).toEqual([]);
  });
});

describe('vibration of the day', () => {
  // HSE ready reckoner: 2 a^2 points an hour; 6 m/s2 for 30 s is 0.6 points.
  it('adds the passes to the points of earlier work', () => {
    const hands = handsToday(
      jobOf(typed(0, 'vibration-m-s2', 6), typed(1, 'vibration-earlier', 99.5), open(10), [60, 'agitate-end']),
    );
    expect(hands.day?.points).toBeCloseTo(99.5 + 0.6, 9);
    expect(hands.day?.stand).toBe('over-action');
    expect(hands.toActionS).toBe(0);
  });

  it('is unknown without the figure of the tool', () => {
    expect(handsToday(jobOf(open(10), [60, 'agitate-end'])).day).toBeNull();
  });

  it('begins anew when the points of earlier work are typed, and after a rest over night', () => {
    const day: readonly Told[] = [typed(0, 'vibration-m-s2', 10), open(10), [60, 'agitate-end'], [120, 'agitate-end']];
    expect(handsToday(jobOf(...day)).passes).toBe(2);
    expect(handsToday(jobOf(...day, typed(130, 'vibration-earlier', 20), [200, 'agitate-end'])).passes).toBe(1);
    const night: readonly Told[] = [
      typed(1, 'vibration-earlier', 50),
      ...day,
      [200, 'pause', '', { note: 'Over night' }],
      [900, 'resume'],
      [1000, 'agitate-end'],
    ];
    const morning = handsToday(jobOf(...night));
    expect([morning.passes, morning.earlierPoints]).toEqual([1, 0]);
  });
});

describe('books of the dirt', () => {
  const feed = (book: DirtBook, timeS: number, excessNtu: number | null, turbidityOutNtu: number | null = null) =>
    book.second(
      { timeS, flowLpm: 12, turbidityNtu: excessNtu === null ? null : excessNtu + 10, turbidityOutNtu },
      excessNtu,
    );
  const event = (name: string, emitter = ''): RunEvent => ({ timeS: 0, event: name, emitter, note: '' });

  it('of the emitters add up to the run, and the chamber begins anew when it was emptied', () => {
    const book = new DirtBook();
    book.event(event('emitter-open', 'a'));
    for (let s = 1; s <= 60; s++) feed(book, s, 100);
    book.event(event('chamber-emptied'));
    book.event(event('emitter-open', 'b'));
    for (let s = 61; s <= 120; s++) feed(book, s, 50);
    const dirt = book.result();
    const { all, chamber } = dirt;
    // 100 NTU at 12 l/min for a minute is 1200 NTU l, at 1.5 mg each 1.8 g.
    expect(gramsOf(dirt, 'a')?.value).toBeCloseTo(1.8, 1);
    expect(gramsOf(dirt, 'b')?.value).toBeCloseTo(0.9, 1);
    expect(all?.grams.value).toBeCloseTo(2.7, 1);
    expect(chamber?.came.grams.value).toBeCloseTo(0.9, 1);
    expect([chamber?.keptShare, chamber?.isMeasured]).toEqual([usualKeptShare, false]);
  });

  it('measure what the chamber keeps where a sensor stands behind it', () => {
    const book = new DirtBook();
    book.event(event('emitter-open', 'a'));
    for (let s = 1; s <= 120; s++) feed(book, s, 90, 25);
    expect(book.result().chamber?.keptShare).toBeCloseTo(0.75, 6);
  });

  it('take no time between two visits for time unseen', () => {
    const book = new DirtBook();
    book.event(event('emitter-open', 'a'));
    for (let s = 1; s <= 10; s++) feed(book, s, 50);
    book.event(event('emitter-shut', 'a'));
    for (let s = 11; s <= 100; s++) feed(book, s, null);
    book.event(event('emitter-open', 'a'));
    for (let s = 101; s <= 110; s++) feed(book, s, 50);
    expect(book.result().visits.map((v) => v.solids.unseenS)).toEqual([0, 0]);
    expect(gramsOf(book.result(), 'a')?.value).toBeCloseTo(0.28, 1);
    expect(gramsOf(book.result(), 'b')).toBeNull();
  });
});

function visit(peaks: readonly number[], everyS: number): Visit {
  const passesS = peaks.map((_, i) => 100 + i * everyS);
  return {
    emitter: 'a',
    visit: 1,
    fromS: 0,
    toS: null,
    passesS,
    pulses: peaks.map((peakNtu, i) => ({
      onsetS: (passesS[i] ?? 0) + 20,
      saidS: (passesS[i] ?? 0) + 22,
      peakS: (passesS[i] ?? 0) + 30,
      peakNtu,
      endS: (passesS[i] ?? 0) + 90,
      marked: true,
    })),
    clears: [],
    verdict: {
      state: 'settling',
      done: false,
      reason: { code: 'over-limit', figures: {} },
      sinceS: 0,
      confidence: null,
      forecast: null,
    },
    withheld: false,
  };
}

describe('an emitter that does not clear', () => {
  it('needs as many passes more as its peaks take to fall to the level: halving from 160 to 5 takes five', () => {
    const peaks = [2560, 1280, 640, 320, 160].map((p) => p + 20);
    const left = passesLeft(visit(peaks, 120), 20, 5);
    expect(left).toMatchObject({ passes: 5 });
    expect(left?.minutes).toBeCloseTo(10, 6);
    expect(left?.fromMin).toBeCloseTo(10, 6);
    expect(left?.toMin).toBeCloseTo(10, 6);
  });

  it('has no end that could be told when its peaks do not fall', () => {
    expect(passesLeft(visit([300, 310, 305, 312, 306], 120), 20, 5)?.toMin).toBeNull();
  });

  it('says nothing from two peaks', () => expect(passesLeft(visit([300, 100], 120), 20, 5)).toBeNull());
});

describe('when all will be done', () => {
  it('is unknown before the first stage and after the end', () => {
    expect(whenDone(jobOf(), [], 0)).toBeNull();
    expect(whenDone(jobOf([0, 'stage:emitters'], [9, 'stage:end']), [], 10)).toBeNull();
  });

  it('comes nearer by what a stage has taken, and not by a rest', () => {
    const circulating = jobOf([0, 'stage:circulate']);
    const at = (job: typeof circulating, timeS: number): number => whenDone(job, [], timeS)?.minutes ?? Number.NaN;
    expect(at(circulating, 0) - at(circulating, 600)).toBeCloseTo(10, 6);
    const rested = jobOf([0, 'stage:circulate'], [60, 'pause', '', { note: 'Over night' }], [36_060, 'resume']);
    expect(at(rested, 36_060)).toBeCloseTo(at(circulating, 60), 6);
  });

  it('always lies in its interval, and the interval is wide while nothing was seen', () => {
    const guess = whenDone(jobOf([0, 'stage:survey']), [], 0);
    expect(guess?.basis).toBe('first-guess');
    if (!guess) return;
    expect(guess.fromMin).toBeLessThan(guess.minutes);
    expect(guess.toMin).toBeGreaterThan(1.3 * guess.minutes);
  });
});

describe('the order of work', () => {
  it('can be changed without a survey: the emitters follow, what the verdict goes by stays', () => {
    const ids = context.emitters.map((e) => e.id).reverse();
    const event = { timeS: 5, event: 'survey-order', emitter: '', note: ids.join(' ') };
    const job = jobOf([5, 'survey-order', '', { note: ids.join(' ') }]);
    expect(job.emitters.map((e) => e.id)).toEqual(ids);
    expect(job.surveyTold).toBe(false);
    expect(tellsContext(event)).toBe(false);
    expect(contextNow(context, job)).toEqual(context);
  });
});

describe('the volume of the system by its dose', () => {
  const mixPoints = Array.from({ length: 150 }, (_, i) => ({ litres: i, usCm25: i < 40 ? 500 + 10 * i : 900 }));
  const live = measured({ conductivityUsCm: 900, flowLpm: 15 }, { beforeDose: { value: 500, u: 5 }, mixPoints });
  const dosed: Step[] = [label('cleaner'), ['dose', '', { what: 'cleaner', litres: 1 }]];

  it('follows from a jug test: one litre that raises the system as 10 ml raise a litre fills about 101 l', () => {
    const { worked } = look(steps([...dosed, ['typed', '', { what: 'jug-us-cm', value: 400 }]]), live);
    expect(worked.diluted?.ok && worked.diluted.value.value).toBeCloseTo(101, 6);
    expect(worked.volume?.origin).toBe('dilution');
  });

  it('is not told without the jug, nor where the jug hardly rose', () => {
    expect(look(steps(dosed), live).worked.diluted).toBeNull();
    const flat = { ...live, mixPoints: mixPoints.map((p) => ({ ...p, usCm25: 503 })) };
    expect(look(steps([...dosed, ['typed', '', { what: 'jug-us-cm', value: 400 }]]), flat).worked.diluted).toBeNull();
  });
});
