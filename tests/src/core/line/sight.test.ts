import { describe, expect, it } from 'vitest';
import { analyseRecording } from '../../../../src/core/analyse-recording.ts';
import { createAnalysis } from '../../../../src/core/analyse.ts';
import type { RunEvent } from '../../../../src/core/job/event.ts';
import { Fronts } from '../../../../src/core/line/front.ts';
import { Hidden, tailFold } from '../../../../src/core/line/hidden.ts';
import { Series } from '../../../../src/core/signal/series.ts';
import { gaussian, makeRun, oneVisit } from './made-run.ts';

/** What is shown second by second, the events given in their time. */
function shown(run: ReturnType<typeof makeRun>, events: readonly RunEvent[] = run.events) {
  const analysis = createAnalysis(run.context);
  const out: { timeS: number; state: string; code: string }[] = [];
  let next = 0;
  for (const sample of run.samples) {
    for (let e = events[next]; e && e.timeS <= sample.timeS; e = events[next]) {
      analysis.event(e);
      next += 1;
    }
    analysis.sample(sample);
    out.push({ timeS: sample.timeS, state: analysis.verdict.state, code: analysis.verdict.reason.code });
  }
  return out;
}

const event = (timeS: number, name: string, data?: RunEvent['data']): RunEvent => ({
  timeS,
  event: name,
  emitter: '',
  note: '',
  ...(data ? { data } : {}),
});

describe('a film on the window', () => {
  const filmed = (fromS: number, ntuPerMin: number) =>
    makeRun({
      endS: 700,
      events: oneVisit,
      pulses: [{ atS: 118, peakNtu: 200, tauS: 20 }],
      reading: (ntu, t) => (t > fromS ? ntu + ((t - fromS) * ntuPerMin) / 60 : ntu),
    });

  it.each([6, 12, 40])('that grows by %i NTU a minute ends in "cannot tell"', (ntuPerMin) => {
    const run = filmed(300, ntuPerMin);
    const [visit] = analyseRecording(run.context, run.samples, run.events).visits;
    expect(visit?.reason.code).toBe('fouling');
    expect(visit?.withheld).toBe(true);
  });

  it('that grows by less than the limit in 100 s is seen by a longer look', () => {
    // 4 NTU come in 100 s, of 5 that are the least limit; 16 in the 410 s to the end.
    const first = shown(filmed(290, 2.4)).find((s) => s.code === 'fouling');
    expect(first?.timeS).toBeGreaterThan(290 + 100);
    expect(first?.timeS).toBeLessThan(290 + 300);
  });

  it('is not seen in a background that climbs by half an NTU a minute', () => {
    const run = filmed(90, 0.5);
    const codes = new Set(shown(run).map((s) => s.code));
    expect(codes).not.toContain('fouling');
    expect(codes).toContain('clear');
    expect(toldAt(run)).toEqual([]);
  });

  const toldAt = (run: ReturnType<typeof makeRun>) =>
    analyseRecording(run.context, run.samples, run.events)
      .notices.filter((n) => n.reason.code === 'window-fouling')
      .map((n) => n.at_s);

  /** A heavy pulse: its limit is 30 NTU, and the film grows by 20. */
  const underLimit = (flowLpm = (_timeS: number) => 10) =>
    makeRun({
      flowLpm,
      endS: 800,
      events: oneVisit,
      noiseNtu: 1,
      pulses: [{ atS: 118, peakNtu: 900, tauS: 20 }],
      reading: (ntu, t) => (t > 400 ? ntu + ((t - 400) * 3) / 60 : ntu),
    });

  it('that stays under the limit of a heavy visit is told once, and no clear is refused for it', () => {
    const run = underLimit();
    const at = toldAt(run);
    expect(at).toHaveLength(1);
    expect(at[0]).toBeGreaterThan(400 + 60);
    expect(at[0]).toBeLessThan(400 + 240);
    const said = shown(run);
    expect(said.map((s) => s.code)).not.toContain('fouling');
    expect(said.find((s) => s.timeS === at[0])?.state).toBe('clear');
  });

  it('is told with both that it can be, for the reading tells no film from a background that climbs', () => {
    const run = underLimit();
    const { notices } = analyseRecording(run.context, run.samples, run.events);
    const told = notices.find((n) => n.reason.code === 'window-fouling');
    const perMin = told?.reason.figures['ntuPerMin'] ?? 0;
    // The first seconds of the look may lie before it began.
    expect(perMin).toBeGreaterThan(2);
    expect(perMin).toBeLessThan(3.5);
    expect(told?.reason.text).toMatch(/film on the window.*or a background that climbs.*cannot tell which/);
  });

  it('is not told while the flow sinks: then the chambers fill up, which has its own alarm', () => {
    expect(toldAt(underLimit((t) => (t < 200 ? 10 : 10 - (t - 200) / 200)))).toEqual([]);
  });

  it('is not told of a climb so steep that an untold pass may be behind it, nor while a pass’s water is due', () => {
    const climbing = (fromS: number, ntuPerMin: number, events = oneVisit) =>
      makeRun({
        endS: 620,
        events,
        pulses: [{ atS: 118, peakNtu: 900, tauS: 20 }],
        reading: (ntu, t) => (t > fromS ? ntu + ((t - fromS) * ntuPerMin) / 60 : ntu),
      });
    expect(toldAt(climbing(400, 40))).toEqual([]);
    const shakes = [420, 500, 580].flatMap((t) => [
      [t, 'agitate-start', 'a'] as const,
      [t + 30, 'agitate-end', 'a'] as const,
    ]);
    expect(toldAt(climbing(400, 6, [...oneVisit, ...shakes]))).toEqual([]);
  });
});

describe('a pulse over the range', () => {
  it('is reckoned at least as high as the washout from its top shows, and never lower than what is seen', () => {
    // A tank of 2 l from 3000 NTU, seen again at 300: 2 ln 10 = 4.6 l of it went by unseen.
    const hidden = new Hidden();
    for (let litres = 10; litres < 14.6; litres += 0.1) hidden.over(litres);
    const { peakNtu } = hidden.back(14.6, 300, 2, Number.NaN, 10, 9.8);
    expect(peakNtu).toBeGreaterThan(500);
    expect(peakNtu).toBeLessThan(3000);
    expect(hidden.isPending).toBe(false);
  });

  it('is carried back no further than to the end of what set it free', () => {
    const hidden = new Hidden();
    hidden.over(10);
    // The pass's last water comes by just now: nothing of the washout was hidden.
    expect(hidden.back(30, 300, 2, Number.NaN, 30, Number.NaN).peakNtu).toBe(300);
  });

  it('is reckoned by its own tail where that falls faster than what was learned, and never by a slower one', () => {
    const by = (tailL: number) => {
      const hidden = new Hidden();
      hidden.over(10);
      return hidden.back(14, 300, 4, tailL, 10, Number.NaN).peakNtu;
    };
    expect(by(2)).toBeGreaterThan(by(4));
    expect(by(9)).toBe(by(4));
    expect(by(0.1)).toBe(by(4 / 3));
  });

  it('is one pulse where the reading came down by folding and went up again', () => {
    const twice = (restL: number) => {
      const hidden = new Hidden();
      hidden.over(10);
      hidden.back(12, 300, 3, Number.NaN, 12, Number.NaN);
      hidden.over(12 + restL);
      return hidden.back(13 + restL, 300, 3, Number.NaN, 12, Number.NaN).peakNtu;
    };
    // Over the range for one litre; but since the first spell four, or forty.
    expect(twice(4)).toBeGreaterThan(1.5 * twice(40));
  });

  it('reads the fold of a tail off its last seconds', () => {
    const series = new Series();
    for (let t = 0; t < 40; t++) series.push(t, 0.2 * t, 20 + 500 * Math.exp(-t / 15), 1, 0);
    // 15 s at 0.2 l a second.
    expect(tailFold(series, 20)).toBeCloseTo(3, 6);
    const rising = new Series();
    for (let t = 0; t < 40; t++) rising.push(t, 0.2 * t, 20 + 10 * t, 1, 0);
    expect(tailFold(rising, 20)).toBeNaN();
    expect(tailFold(new Series(), 20)).toBeNaN();
  });

  it('sets the limit of the visit, so that a clear need not wait for a twentieth of the range', () => {
    const run = makeRun({
      endS: 500,
      events: oneVisit,
      pulses: [{ atS: 118, peakNtu: 4000, tauS: 30 }],
      reading: (ntu) => Math.min(400, ntu),
    });
    const [visit] = analyseRecording(run.context, run.samples, run.events).visits;
    // 5 % of 400 NTU is reached after 30 ln(4000 / 20) = 159 s, 5 % of 4000 after 90.
    expect(visit?.clears[0]?.from_s).toBeGreaterThan(118 + 90);
    expect(visit?.clears[0]?.from_s).toBeLessThan(118 + 159);
  });
});

describe('a front on a slow rise', () => {
  it('is a front of its own', () => {
    const g = gaussian(5);
    const fronts = new Fronts(10, 18);
    const said: number[] = [];
    for (let t = 1; t <= 120; t += 1) {
      // An echo of 20 NTU from 30 s on; a pass's own water from 70 s on, ten times as high.
      const slow = t > 30 ? 20 * (1 - Math.exp(-(t - 30) / 25)) : 0;
      const own = t > 70 ? 200 * (1 - Math.exp(-(t - 70) / 8)) : 0;
      const front = fronts.step(t, 20 + slow + own + 0.5 * g(), 0.6, 20, true);
      if (front) said.push(front.onsetS);
    }
    expect(said).toHaveLength(2);
    expect(Math.abs((said[1] ?? 0) - 70)).toBeLessThanOrEqual(5);
  });

  it('is not made of one that only goes on rising', () => {
    const g = gaussian(6);
    const fronts = new Fronts(10, 18);
    let said = 0;
    for (let t = 1; t <= 120; t += 1) {
      const own = t > 50 ? 200 * (1 - Math.exp(-(t - 50) / 25)) : 0;
      if (fronts.step(t, 20 + own + 0.5 * g(), 0.6, 20, true)) said += 1;
    }
    expect(said).toBe(1);
  });
});

describe('what the record tells of who was looking', () => {
  const run = makeRun({ endS: 420, events: oneVisit, pulses: [{ atS: 118, peakNtu: 200, tauS: 20 }] });
  const plain = shown(run);
  const clearS = plain.find((s) => s.state === 'clear')?.timeS ?? 0;

  it('takes a clear back when the bridge was off, and gives it again after some seconds of seeing', () => {
    const offS = clearS + 30;
    const events = [...run.events, event(offS, 'note', { restarted: 1 })].sort((a, b) => a.timeS - b.timeS);
    const after = shown(run, events).filter((s) => s.timeS > offS);
    expect(after.slice(0, 15).every((s) => s.state !== 'clear')).toBe(true);
    expect(after.at(-1)?.state).toBe('clear');
  });

  it('says nothing of a visit in whose midst another kit began to read, until a pass', () => {
    const hello = (timeS: number, kit: string) => event(timeS, 'kit-hello', { kit });
    const swapped = [...run.events, hello(2, 'one'), hello(clearS - 20, 'two')].sort((a, b) => a.timeS - b.timeS);
    const states = shown(run, swapped).filter((s) => s.timeS > clearS - 15);
    expect(new Set(states.map((s) => s.code))).toEqual(new Set(['other-kit']));
    const same = [...run.events, hello(2, 'one'), hello(clearS - 20, 'one')].sort((a, b) => a.timeS - b.timeS);
    expect(shown(run, same)).toEqual(plain);
  });
});

describe('a reading that folds back deep inside its range', () => {
  it.each([95, 150, 400])('at %i NTU brings no clear on the far side of its fold', (foldNtu) => {
    const tauS = 25;
    const run = makeRun({
      endS: 600,
      events: oneVisit,
      pulses: [{ atS: 118, peakNtu: 1800, tauS }],
      reading: (ntu) => ntu / (1 + (ntu / foldNtu) ** 2),
    });
    const [visit] = analyseRecording(run.context, run.samples, run.events).visits;
    // A twentieth of the peak is passed after three time constants.
    for (const clear of visit?.clears ?? []) expect(clear.from_s).toBeGreaterThan(118 + 3 * tauS);
  });
});

describe('a pass whose water went by unseen', () => {
  it('is not said to have brought nothing', () => {
    const run = makeRun({
      endS: 420,
      events: oneVisit,
      pulses: [{ atS: 118, peakNtu: 60, tauS: 15 }],
      reading: (ntu, t) => (t > 105 && t < 220 ? 'nothing' : ntu),
    });
    const analysis = createAnalysis(run.context);
    let next = 0;
    let cleared = false;
    for (const sample of run.samples) {
      for (let e = run.events[next]; e && e.timeS <= sample.timeS; e = run.events[next]) {
        analysis.event(e);
        next += 1;
      }
      analysis.sample(sample);
      cleared ||= analysis.verdict.state === 'clear';
      expect(analysis.verdict.done).toBe(false);
    }
    expect(cleared).toBe(true);
  });
});
