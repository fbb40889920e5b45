import { describe, expect, it } from 'vitest';
import { analyseRecording } from '../../../../src/core/analyse-recording.ts';
import { type Analysis, createAnalysis } from '../../../../src/core/analyse.ts';
import { gaussian, type MadeRun, makeRun, oneVisit, type Recipe } from './made-run.ts';

const noEcho = { echoShare: 0, echoShareSd: 0.01 };
const quiet: Recipe = { endS: 420, events: oneVisit, pulses: [{ atS: 118, peakNtu: 200, tauS: 15 }] };

function first(run: MadeRun) {
  const [visit] = analyseRecording(run.context, run.samples, run.events, { settings: noEcho }).visits;
  return { withheld: visit?.withheld, code: visit?.reason.code, clearAtS: visit?.clear_at_s };
}

/** The analysis as it stands after each sample. */
function* live(run: MadeRun): Generator<{ readonly timeS: number; readonly analysis: Analysis }> {
  const analysis = createAnalysis(run.context, noEcho);
  const events = [...run.events];
  for (const sample of run.samples) {
    while ((events[0]?.timeS ?? Number.POSITIVE_INFINITY) <= sample.timeS) {
      const event = events.shift();
      if (event) analysis.event(event);
    }
    analysis.sample(sample);
    yield { timeS: sample.timeS, analysis };
  }
}

/** Reasons shown while the run goes on, each with when it was first said. */
function reasons(run: MadeRun): Map<string, number> {
  const out = new Map<string, number>();
  for (const { timeS, analysis } of live(run)) {
    const { code } = analysis.verdict.reason;
    if (!out.has(code)) out.set(code, timeS);
  }
  return out;
}

const step = (stepNtu: number, ntu: number): number => Math.round(ntu / stepNtu) * stepNtu;

describe('a reading that does not move', () => {
  it('does not teach that readings do not scatter: it is stuck after 30 to 40 of them', () => {
    const stuck = makeRun({ ...quiet, hz: 1, noiseNtu: 0.33, stepNtu: 0.5, reading: (ntu, t) => (t > 300 ? 20 : ntu) });
    const saidS = reasons(stuck).get('stuck') ?? Number.NaN;
    expect(saidS).toBeGreaterThan(300 + 30 - 4);
    expect(saidS).toBeLessThan(300 + 45);
  });

  it('is no fault where the steps explain it', () => {
    for (const noiseNtu of [0.3, 0.6, 1])
      for (const backgroundNtu of [19, 20, 21])
        expect(reasons(makeRun({ ...quiet, noiseNtu, backgroundNtu, stepNtu: 5 })).has('stuck')).toBe(false);
  });
});

describe('a burst that nobody told of', () => {
  it('keeps a clear away as a pass would, and says so, while an emitter may give it', () => {
    const pulses = [...(quiet.pulses ?? []), { atS: 300, peakNtu: 40, tauS: 15 }];
    const saidS = reasons(makeRun({ ...quiet, pulses })).get('untold-to-come') ?? Number.NaN;
    expect(saidS).toBeGreaterThan(300);
    expect(saidS).toBeLessThan(345);
  });

  it('is no pass where it is gone faster than an emitter can empty: bubbles', () => {
    const burst = makeRun({ ...quiet, reading: (ntu, t) => (t > 300 && t < 306 ? ntu + 40 : ntu) });
    expect(reasons(burst).has('untold-to-come')).toBe(false);
    const analysis = analyseRecording(burst.context, burst.samples, burst.events, { settings: noEcho });
    expect(analysis.visits[0]?.pulses).toHaveLength(2);
    expect(analysis.visits[0]?.clears.at(-1)?.from_s).toBeLessThan(330);
  });
});

describe('the height of a burst of bubbles', () => {
  /** What the limit stands over the background, NTU, at `atS`. */
  function limitAt(run: MadeRun, atS: number): number {
    for (const { timeS, analysis } of live(run)) {
      const { clearLevelNtu, backgroundNtu } = analysis.figures;
      if (timeS >= atS) return (clearLevelNtu ?? Number.NaN) - (backgroundNtu ?? Number.NaN);
    }
    return Number.NaN;
  }
  const small: Recipe = { ...quiet, pulses: [{ atS: 118, peakNtu: 80, tauS: 40 }] };

  it.each([
    ['before any pass', 75],
    ['on the tail of a pulse', 175],
    ['when all has gone by', 300],
  ])('does not raise the limit of the visit: %s', (_when, fromS) => {
    const burst = makeRun({ ...small, reading: (ntu, t) => (t > fromS && t < fromS + 5 ? ntu + 600 : ntu) });
    expect(limitAt(burst, fromS + 4)).toBeGreaterThan(20);
    expect(limitAt(burst, fromS + 40)).toBeCloseTo(5, 0);
  });

  it('is the height of the visit where it empties as an emitter does', () => {
    const heavy = makeRun({ ...quiet, pulses: [{ atS: 118, peakNtu: 900, tauS: 15 }] });
    expect(limitAt(heavy, 400)).toBeGreaterThan(20);
  });
});

describe('a pulse that falls before all of its litres have come', () => {
  it('is said to fall, with what stands, and not to be coming through', () => {
    // Of 3 l of pipe and 3 l of emitter the last come in half a minute; the reading halves within five seconds.
    const quick = makeRun({ ...quiet, pulses: [{ atS: 118, peakNtu: 400, tauS: 7 }] });
    const said = new Map<number, string>();
    for (const { timeS, analysis } of live(quick)) {
      const { litresSincePassL, litresNeededL } = analysis.figures;
      if (timeS > 140 && (litresSincePassL ?? 0) < (litresNeededL ?? 0))
        said.set(timeS, `${analysis.verdict.state} ${analysis.verdict.reason.code}`);
    }
    expect(said.size).toBeGreaterThan(10);
    expect(said.get(145)).toBe('settling over-limit');
  });
});

describe('a reading of nought', () => {
  it('is a dark lamp also while it scatters, and stays one until there is light again', () => {
    const g = gaussian(5);
    for (const backgroundNtu of [8, 3]) {
      const dead = makeRun({
        ...quiet,
        hz: 10,
        backgroundNtu,
        reading: (ntu, t) => (t > 300 ? step(0.1, Math.max(0, 0.1 + 0.15 * g())) : ntu),
      });
      expect(reasons(dead).get('dark')).toBeLessThanOrEqual(305);
      expect(first(dead)).toMatchObject({ withheld: true, code: 'dark' });
    }
  });

  it('is no dark lamp where the converter has no step between it and the water', () => {
    // 6 NTU reads 10 or 0 by chance; 3 NTU, when the loop has cleared, always 0.
    const falling = makeRun({
      ...quiet,
      pulses: [],
      noiseNtu: 1.5,
      backgroundNtu: 0,
      reading: (ntu, t) => step(10, Math.max(0, ntu + (t < 200 ? 6 : 2))),
    });
    expect(reasons(falling).has('dark')).toBe(false);
  });

  it('is one where the water was far over a step', () => {
    const dark = makeRun({
      ...quiet,
      backgroundNtu: 40,
      noiseNtu: 3,
      reading: (ntu, t) => (t > 300 ? 0 : step(10, ntu)),
    });
    expect(reasons(dark).get('dark')).toBeLessThanOrEqual(305);
  });
});

describe('a visit that is shut about the end of what was not seen', () => {
  const shutAt = (timeS: number) => [...oneVisit, [timeS, 'emitter-shut', 'a'] as const];

  it.each([
    ['no flow', 'no-flow', { flowLpm: (t: number) => (t > 200 && t < 297 ? 0 : 10) }],
    ['no reading', 'turbidity-missing', { reading: (ntu: number, t: number) => (t > 200 && t < 297 ? null : ntu) }],
    ['a stuck one', 'stuck', { reading: (ntu: number, t: number) => (t > 200 && t < 297 ? 21.5 : ntu) }],
  ])('ends blind where %s came back too late to tell anything', (_, code, fault) => {
    expect(first(makeRun({ ...quiet, ...fault, events: shutAt(301) }))).toEqual({
      withheld: true,
      code,
      clearAtS: null,
    });
    // Soon enough before the shutting, it is judged as it was seen.
    expect(first(makeRun({ ...quiet, ...fault, events: shutAt(360) })).withheld).toBe(false);
  });

  it('ends blind where the kit is silent at the end, and as it was seen where the flow stopped there', () => {
    const silent = makeRun({ ...quiet, events: shutAt(310), reading: (ntu, t) => (t > 302 ? 'nothing' : ntu) });
    expect(first(silent)).toMatchObject({ withheld: true, code: 'silence', clearAtS: null });
    const shutting = makeRun({ ...quiet, events: shutAt(310), flowLpm: (t) => (t > 302 ? 0 : 10) });
    expect(first(shutting)).toMatchObject({ withheld: false, code: 'clear' });
  });
});
