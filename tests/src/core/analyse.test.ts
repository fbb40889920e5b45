import fc from 'fast-check';
import { describe, expect, it } from 'vitest';
import { createAnalysis } from '../../../src/core/analyse.ts';
import { analyseRecording, type RecordingResult } from '../../../src/core/analyse-recording.ts';
import type { RunEvent } from '../../../src/core/job/event.ts';
import { type MadeRun, makeRun, oneVisit } from './line/made-run.ts';

/** A run of a few visits with pulses, gaps, missing values, stops, told and untold passes, drawn at random. */
const runs: fc.Arbitrary<MadeRun> = fc
  .record({
    seed: fc.integer({ min: 1, max: 1e6 }),
    hz: fc.constantFrom(1, 2, 5),
    noise: fc.double({ min: 0.1, max: 3, noNaN: true }),
    peaks: fc.array(fc.double({ min: 0, max: 900, noNaN: true }), { minLength: 1, maxLength: 5 }),
    untold: fc.boolean(),
    gapS: fc.integer({ min: 0, max: 500 }),
    stopS: fc.integer({ min: 0, max: 500 }),
  })
  .map(({ seed, hz, noise, peaks, untold, gapS, stopS }) => {
    const events: [number, string, string][] = [
      [0, 'stage:baseline', ''],
      [50, 'stage:emitters', ''],
      [51.3, 'emitter-open', 'a'],
    ];
    const pulses = peaks.map((peakNtu, i) => ({ atS: 90 + i * 110, peakNtu, tauS: 15 + 5 * i }));
    for (const p of pulses) {
      if (!untold) events.push([p.atS - 17.4, 'agitate-start', 'a']);
      events.push([p.atS + 11.7, 'agitate-end', 'a']);
    }
    events.push([330.2, 'emitter-open', 'b'], [333, 'emitter-shut', 'a'], [600, 'emitter-shut', 'b']);
    events.sort((x, y) => x[0] - y[0]);
    return makeRun({
      endS: 640,
      hz,
      seed,
      noiseNtu: noise,
      pulses,
      events,
      flowLpm: (t) => (t > stopS && t < stopS + 25 ? 0 : 11),
      reading: (ntu, t) => (t > gapS && t < gapS + 12 ? 'nothing' : t > 200 && t < 203 ? null : ntu),
    });
  });

function said(result: RecordingResult, untilS: number) {
  return result.visits.map((v) => ({
    emitter: v.emitter,
    visit: v.visit,
    onsets: v.pulses.filter((p) => p.said_s <= untilS).map((p) => [p.onset_s, p.said_s]),
    clears: v.clears.filter((c) => c.from_s <= untilS).map((c) => c.from_s),
  }));
}

describe('analysis is causal', () => {
  it('says before a cut what it says without the cut', () => {
    fc.assert(
      fc.property(runs, fc.double({ min: 60, max: 640, noNaN: true }), (run, cutS) => {
        const whole = analyseRecording(run.context, run.samples, run.events);
        const cut = analyseRecording(
          run.context,
          run.samples.filter((s) => s.timeS <= cutS),
          run.events.filter((e) => e.timeS <= cutS),
        );
        const known = said(whole, cutS).slice(0, cut.visits.length);
        // The last second before the cut is not over yet: what it would say is said after it.
        expect(said(cut, cutS - 1)).toEqual(known.map((v) => trim(v, cutS - 1)));
      }),
      { numRuns: 40 },
    );
  });

  it('does not care how often time is told to pass', () => {
    fc.assert(
      fc.property(runs, fc.array(fc.double({ min: 0, max: 640, noNaN: true }), { maxLength: 60 }), (run, times) => {
        expect(
          drive(
            run,
            [...times].sort((a, b) => a - b),
          ),
        ).toEqual(drive(run, []));
      }),
      { numRuns: 30 },
    );
  });
});

function trim(v: ReturnType<typeof said>[number], untilS: number) {
  return {
    ...v,
    onsets: v.onsets.filter(([, s]) => (s ?? 0) <= untilS),
    clears: v.clears.filter((s) => s <= untilS),
  };
}

function drive(run: MadeRun, advances: readonly number[]) {
  const analysis = createAnalysis(run.context);
  let event = 0;
  let advance = 0;
  for (const sample of run.samples) {
    for (let e: RunEvent | undefined = run.events[event]; e && e.timeS <= sample.timeS; e = run.events[event]) {
      for (; (advances[advance] ?? Number.POSITIVE_INFINITY) <= e.timeS; advance += 1)
        analysis.advance(advances[advance] ?? 0);
      analysis.event(e);
      event += 1;
    }
    for (; (advances[advance] ?? Number.POSITIVE_INFINITY) <= sample.timeS; advance += 1)
      analysis.advance(advances[advance] ?? 0);
    analysis.sample(sample);
  }
  const { visits, verdict, figures, rinse, notices } = analysis;
  return { visits, verdict, figures, rinse, notices };
}

describe('a recording from elsewhere', () => {
  const run = makeRun({ endS: 400, events: oneVisit, pulses: [{ atS: 118, peakNtu: 200, tauS: 20 }] });

  it('is sorted, and of doubled times the first wins', () => {
    const plain = analyseRecording(run.context, run.samples, run.events);
    const rows = [...run.samples];
    for (let i = 10; i + 2 < rows.length; i += 37) {
      const [a, b] = [rows[i], rows[i + 1]];
      if (a && b) rows.splice(i, 2, b, a, { ...a, turbidityNtu: 4000 });
    }
    // A doubled row that comes later in the file is the later one.
    expect(analyseRecording(run.context, rows, run.events)).toEqual(plain);
  });

  it('without any event is one visit of no emitter', () => {
    const result = analyseRecording(run.context, run.samples, []);
    expect(result.visits.map((v) => [v.emitter, v.visit])).toEqual([['', 1]]);
    expect(result.visits[0]?.pulses.length).toBe(1);
  });

  it('never breaks on wild values', () => {
    const wild = fc.oneof(fc.constant(null), fc.double({ min: -20, max: 20000 }), fc.constant(0));
    fc.assert(
      fc.property(fc.array(fc.tuple(wild, wild, wild), { minLength: 1, maxLength: 300 }), (values) => {
        const samples = run.samples.slice(0, values.length).map((s, i) => {
          const [turbidityNtu, flow, conductivityUsCm] = values[i] ?? [null, null, null];
          return { ...s, turbidityNtu, flowLpm: flow === null ? null : Math.abs(flow), conductivityUsCm };
        });
        const result = analyseRecording(run.context, samples, run.events);
        for (const visit of result.visits) {
          expect(visit.reason.text).not.toMatch(/NaN|undefined|\{/);
          for (const x of Object.values(visit.reason.figures)) expect(Number.isFinite(x)).toBe(true);
        }
      }),
      { numRuns: 60 },
    );
  });

  it('runs with other settings, and refuses settings it does not know', () => {
    const clean = makeRun({ endS: 400, events: oneVisit });
    const strict = analyseRecording(clean.context, clean.samples, clean.events, { settings: { pathSds: 5 } });
    const usual = analyseRecording(clean.context, clean.samples, clean.events);
    expect(strict.visits[0]?.clear_at_s ?? Number.POSITIVE_INFINITY).toBeGreaterThan(usual.visits[0]?.clear_at_s ?? 0);
    expect(() => createAnalysis(run.context, { clearNTU: 3 })).toThrow(/clearNTU/);
  });
});

describe('hindsight', () => {
  const run = makeRun({ endS: 420, events: oneVisit, pulses: [{ atS: 118, peakNtu: 200, tauS: 20 }] });

  it('dates the clear no later than it could be said, and the onset nearer to the rise', () => {
    const live = analyseRecording(run.context, run.samples, run.events).visits[0];
    const later = analyseRecording(run.context, run.samples, run.events, { hindsight: true }).visits[0];
    expect(later?.clears.length).toBe(1);
    // 5 % of the peak is left after 3 time constants.
    expect(Math.abs((later?.clear_at_s ?? 0) - (118 + 4 + 60))).toBeLessThan(20);
    expect(later?.clear_at_s).toBeLessThanOrEqual(live?.clear_at_s ?? Number.POSITIVE_INFINITY);
    expect(Math.abs((later?.pulses[0]?.onset_s ?? 0) - 118)).toBeLessThanOrEqual(3);
  });
});
