import fc from 'fast-check';
import { describe, expect, it } from 'vitest';
import { BandClock, type ClockBand, secondsToTarget } from '../../../../src/core/job/clocks.ts';
import { halfFillOf } from '../../../../src/core/job/half-fill.ts';
import { chamberLoad, SolidsMeter } from '../../../../src/core/job/solids.ts';
import { triggerLeftS, vibrationDay } from '../../../../src/core/job/vibration.ts';
import { runForecast } from '../../../../src/core/job/whole-run-forecast.ts';
import { noiseFrom } from '../noise.ts';

describe('a clock that counts only inside its bands', () => {
  const bands: readonly ClockBand[] = [
    { name: 'flow', unit: 'l/min', least: 4, most: null },
    { name: 'temperature', unit: '°C', least: 50, most: 75 },
  ];

  it('counts what is in band and names what stopped it', () => {
    const clock = new BandClock(bands);
    for (let t = 0; t <= 100; t++) clock.add(t, [8, t < 40 ? 60 : 45]);
    const cold = clock.state();
    expect(cold.countedS).toBe(39);
    expect(cold.isRunning).toBe(false);
    expect(cold.stops).toEqual([{ why: 'low', name: 'temperature', value: 45, limit: 50, unit: '°C' }]);
    expect(cold.lostS).toEqual({ temperature: 61 });
    clock.add(101, [null, 80]);
    expect(clock.state().stops.map((s) => `${s.name} ${s.why}`)).toEqual(['flow not-measured', 'temperature high']);
  });

  it('does not count what it did not see, and stands when it hears nothing', () => {
    const clock = new BandClock(bands);
    expect(clock.state(0).stops).toEqual([{ why: 'gap', name: 'gap' }]);
    clock.add(0, [8, 60]);
    clock.add(300, [8, 60]);
    expect(clock.state().countedS).toBe(0);
    expect(clock.state().lostS).toEqual({ gap: 300 });
    expect(clock.state().isRunning).toBe(true);
    expect(clock.state(310).isRunning).toBe(false);
  });

  it('never counts more than the time that went by, and never goes back', () => {
    const step = fc.record({
      dt: fc.double({ min: -2, max: 8, noNaN: true }),
      flow: fc.option(fc.double({ min: 0, max: 10, noNaN: true })),
      temp: fc.option(fc.double({ min: 20, max: 90, noNaN: true })),
    });
    fc.assert(
      fc.property(fc.array(step, { maxLength: 60 }), (steps) => {
        const clock = new BandClock(bands);
        let [t, last, latest] = [0, 0, 0];
        for (const s of steps) {
          t += s.dt;
          clock.add(t, [s.flow, s.temp]);
          latest = Math.max(latest, t);
          const { countedS } = clock.state();
          expect(countedS).toBeGreaterThanOrEqual(last);
          last = countedS;
        }
        const span = steps.length > 0 ? latest - Math.min(0, ...steps.map((s) => s.dt)) + 2 * steps.length : 0;
        expect(last).toBeLessThanOrEqual(span);
      }),
    );
  });

  it('time to a target by the present rise', () => {
    expect(secondsToTarget(40, 50, 2)).toBe(300);
    expect(secondsToTarget(55, 50, -1)).toBe(0);
    expect(secondsToTarget(40, 50, 0)).toBeNull();
  });
});

describe('half-fill', () => {
  it('drops half of the water, and knows how far it came', () => {
    expect(halfFillOf({ value: 8, u: 1 }, null)).toEqual({
      toDropL: { value: 4, u: 0.5 },
      leftToDropL: null,
      fillNow: null,
    });
    const got = halfFillOf({ value: 8, u: 1 }, { value: 3, u: 0.2 });
    expect(got.leftToDropL?.value).toBe(1);
    expect(got.fillNow).toBe(0.625);
  });
});

describe('solids carried', () => {
  it('a steady excess of 100 NTU at 10 l/min for 6 min is 6000 NTU l, 9 g at 1.5 mg/l, known to half', () => {
    const meter = new SolidsMeter();
    for (let t = 0; t <= 360; t++) meter.add(t, 100, 10);
    const got = meter.result();
    expect(got.litres).toBeCloseTo(60, 9);
    expect(got.grams.value).toBeCloseTo(9, 9);
    expect(got.grams.u).toBeCloseTo(4.5, 9);
    expect(got.unseenS).toBe(0);
  });

  it('what goes in comes out: two stretches add up to the whole, noise around nought to nothing', () => {
    const next = noiseFrom(3);
    const [whole, first, second, idle] = [new SolidsMeter(), new SolidsMeter(), new SolidsMeter(), new SolidsMeter()];
    for (let t = 0; t <= 600; t++) {
      const excess = 50 * Math.exp(-t / 90) + next();
      whole.add(t, excess, 8);
      if (t <= 300) first.add(t, excess, 8);
      if (t >= 300) second.add(t, excess, 8);
      idle.add(t, next(), 8);
    }
    const g = (m: SolidsMeter): number => m.result().grams.value;
    expect(g(first) + g(second)).toBeCloseTo(g(whole), 9);
    expect(g(idle)).toBeLessThan(0.05 * g(whole));
    // The integral of 50 e^(-t/90) over its litres, 8 l/min.
    const exact = ((50 * 90 * (1 - Math.exp(-600 / 90)) * 8) / 60 / 1000) * 1.5;
    expect(Math.abs(g(whole) / exact - 1)).toBeLessThan(0.02);
  });

  it('counts nothing for what it did not see, and says how long that was', () => {
    const meter = new SolidsMeter();
    meter.add(0, 100, 10);
    meter.add(60, 100, 10);
    meter.add(61, null, 10);
    meter.add(62, 100, 10);
    expect(meter.result()).toMatchObject({ grams: { value: 0 }, unseenS: 62 });
  });

  it('prompts to empty by load, and says when the capacity is not known', () => {
    const at = (g: number) => chamberLoad({ value: g, u: 0.1 * g }, 0.9, 900).empty;
    expect([100, 700, 850, 1000].map(at)).toEqual(['no', 'no', 'soon', 'now']);
    expect(chamberLoad({ value: 100, u: 50 }, 0.9, null)).toMatchObject({ load: null, empty: 'capacity-unknown' });
  });
});

describe('vibration of the day', () => {
  const use = fc.record({
    aMS2: fc.double({ min: 0, max: 30, noNaN: true }),
    triggerS: fc.integer({ min: 0, max: 4000 }),
  });

  it('adds over tools and uses, in any order, and equals the root of summed squares', () => {
    fc.assert(
      fc.property(fc.array(use, { minLength: 1, maxLength: 15 }), (uses) => {
        const day = vibrationDay(uses);
        const back = vibrationDay([...uses].reverse());
        if (!day.ok || !back.ok) throw new Error('refused');
        expect(back.value.points).toBeCloseTo(day.value.points, 6);
        const a8 = Math.sqrt(uses.reduce((a, u) => a + u.aMS2 ** 2 * u.triggerS, 0) / 28800);
        expect(day.value.a8MS2).toBeCloseTo(a8, 9);
      }),
    );
  });

  it('refuses what no tool does and more hours than a day has; a still tool has no end', () => {
    expect(vibrationDay([{ aMS2: 500, triggerS: 1 }]).ok).toBe(false);
    expect(vibrationDay([{ aMS2: 5, triggerS: -1 }]).ok).toBe(false);
    expect(vibrationDay(Array(3).fill({ aMS2: 5, triggerS: 40000 })).ok).toBe(false);
    expect(triggerLeftS(20, 0, 100)).toBeNull();
    expect(triggerLeftS(120, 5, 100)).toBe(0);
  });
});

describe('forecast of the whole run', () => {
  const stagesMin = [{ least: 20, usual: 25, most: 40 }];

  it('holds the truth nine times in ten on log-normal visits', () => {
    let inside = 0;
    let all = 0;
    for (let seed = 1; seed <= 300; seed++) {
      const next = noiseFrom(seed);
      const middle = 8 + 8 * Math.abs(next());
      const visits = Array.from({ length: 10 }, () => middle * Math.exp(0.4 * next()));
      for (const done of [2, 4, 7]) {
        const truth = visits.slice(done).reduce((a, b) => a + b, 0) + 28;
        const got = runForecast({ doneMin: visits.slice(0, done), openMin: null, left: 10 - done, stagesMin });
        all++;
        if (got.fromMin <= truth && truth <= got.toMin) inside++;
      }
    }
    expect(inside / all).toBeGreaterThan(0.88);
    expect(inside / all).toBeLessThan(0.995);
  });

  it('grows with the emitters left, narrows with the visits seen, and says what it rests on', () => {
    const at = (done: number, left: number) =>
      runForecast({ doneMin: Array.from({ length: done }, (_, i) => 10 + (i % 3)), openMin: null, left, stagesMin });
    expect(at(0, 5).basis).toBe('first-guess');
    expect(at(2, 5).basis).toBe('few-visits');
    expect(at(6, 5).basis).toBe('visits');
    expect(at(4, 6).minutes).toBeGreaterThan(at(4, 5).minutes);
    const width = (f: { fromMin: number; toMin: number }): number => f.toMin - f.fromMin;
    expect(width(at(12, 5))).toBeLessThan(width(at(1, 5)));
    expect(at(3, 0)).toMatchObject({ minutes: 85 / 3 });
    const none = runForecast({ doneMin: [], openMin: null, left: 0, stagesMin: [] });
    expect(none).toMatchObject({ minutes: 0, fromMin: 0, toMin: 0 });
  });

  it('an emitter that is open has the longer to go the less it had, and never less than nothing', () => {
    const rest = (openMin: number): number =>
      runForecast({ doneMin: [10, 11, 12, 9], openMin, left: 0, stagesMin: [] }).minutes;
    expect(rest(2)).toBeGreaterThan(rest(8));
    expect(rest(500)).toBeGreaterThan(0);
  });
});
