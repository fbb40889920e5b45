import { describe, expect, it } from 'vitest';
import { createAnalysis } from '../../../../src/core/analyse.ts';
import { analyseRecording } from '../../../../src/core/analyse-recording.ts';
import { type MadeRun, makeRun, oneVisit } from './made-run.ts';

/** A rig known to hold everything back, for what is not about the echo. */
const noEcho = { echoShare: 0, echoShareSd: 0.01 };

/** State and reason code of each whole second. */
function states(run: MadeRun, settings: unknown = noEcho): Map<number, string> {
  const analysis = createAnalysis(run.context, settings);
  const out = new Map<number, string>();
  let next = 0;
  for (const sample of run.samples) {
    for (let e = run.events[next]; e && e.timeS <= sample.timeS; e = run.events[next]) {
      analysis.event(e);
      next += 1;
    }
    for (let t = Math.ceil(out.size); t <= sample.timeS; t += 1) {
      analysis.advance(t);
      out.set(t, `${analysis.verdict.state}/${analysis.verdict.reason.code}`);
    }
    analysis.sample(sample);
  }
  return out;
}

function firstS(of: Map<number, string>, what: RegExp, fromS: number): number {
  for (const [t, s] of of) if (t >= fromS && what.test(s)) return t;
  return Number.NaN;
}

describe('one visit', () => {
  // Emitter a: 3 l of pipe and 6 l of water, half of it in the way: 6 l at 10 l/min, 36 s.
  const pathS = 36;

  it('goes through watching, carrying, settling and clear, once', () => {
    const run = makeRun({ endS: 420, events: oneVisit, pulses: [{ atS: 118, peakNtu: 300, tauS: 20 }] });
    const of = states(run);
    const order = [...new Set([...of.values()].map((s) => s.split('/')[0]))];
    expect(order).toEqual(['idle', 'watching', 'carrying', 'settling', 'clear']);
    // 300 NTU falls under 5 % of the peak after 3 time constants.
    const clearS = firstS(of, /clear/, 130);
    expect(clearS).toBeGreaterThan(118 + 3 * 20);
    expect(clearS).toBeLessThan(118 + 3 * 20 + 45);
    const [visit] = analyseRecording(run.context, run.samples, run.events, { settings: noEcho }).visits;
    expect(visit?.clears.length).toBe(1);
    expect(visit?.done).toBe(false);
    expect(visit?.pulses.length).toBe(1);
    expect(Math.abs((visit?.pulses[0]?.onset_s ?? 0) - 118)).toBeLessThan(4);
    expect(visit?.pulses[0]?.peak_ntu).toBeGreaterThan(180);
  });

  it('asks more of the first passes of a visit than of later ones', () => {
    const clearS = (earlyDoubt: number) => {
      const run = makeRun({ endS: 420, events: oneVisit, pulses: [{ atS: 118, peakNtu: 300, tauS: 20 }] });
      return firstS(states(run, { ...noEcho, earlyDoubt }), /clear/, 131);
    };
    expect(clearS(0.5)).toBeGreaterThan(clearS(0) + 5);
  });

  it('is done when a pass brings nothing, and not before the path has flowed', () => {
    const run = makeRun({ endS: 300, events: oneVisit });
    const of = states(run);
    const doneS = firstS(of, /clear\/done/, 131);
    expect(doneS).toBeGreaterThanOrEqual(130 + pathS);
    expect(doneS).toBeLessThan(130 + pathS * 1.5);
  });

  it.each([2, 3, 4])('takes "done" back for a hump of %d NTU, which is over the limit of detection', (peakNtu) => {
    const of = states(
      makeRun({ endS: 420, noiseNtu: 0.3, events: oneVisit, pulses: [{ atS: 220, peakNtu, tauS: 30 }] }),
    );
    expect(of.get(219)).toBe('clear/done');
    expect(firstS(of, /carrying/, 220)).toBeLessThan(232);
    expect(firstS(of, /clear\/done/, 232)).toBeNaN();
    expect(of.get(419)).toBe('clear/clear');
  });

  it('counts litres, not seconds: at half the flow it waits twice as long', () => {
    const wait = (lpm: number) =>
      firstS(states(makeRun({ endS: 420, events: oneVisit, flowLpm: () => lpm })), /clear/, 131) - 130;
    expect(wait(5) / wait(10)).toBeCloseTo(2, 0);
  });

  it('withdraws clear at a new pass at once', () => {
    const events = [...oneVisit, [300, 'agitate-start', 'a'] as const, [325, 'agitate-end', 'a'] as const];
    const of = states(makeRun({ endS: 420, events, pulses: [{ atS: 118, peakNtu: 300, tauS: 20 }] }));
    expect(of.get(299)).toBe('clear/clear');
    expect(of.get(301)).toBe('watching/passing');
    expect(firstS(of, /clear\/done/, 325)).toBeGreaterThan(325 + pathS);
  });

  it('keeps a slow tail back though its level is low', () => {
    const slow = makeRun({ endS: 620, events: oneVisit, pulses: [{ atS: 118, peakNtu: 60, tauS: 110 }] });
    // 60 NTU with 110 s: 5 NTU are reached after 273 s.
    expect(firstS(states(slow), /clear/, 131)).toBeGreaterThan(118 + 260);
  });

  it('opens a pulse that no pass explains, and waits for the pass behind it', () => {
    const run = makeRun({
      endS: 420,
      events: oneVisit.slice(0, 3),
      pulses: [{ atS: 180, peakNtu: 120, tauS: 12 }],
    });
    const [visit] = analyseRecording(run.context, run.samples, run.events, { settings: noEcho }).visits;
    expect(visit?.pulses.length).toBe(1);
    expect(visit?.clear_at_s).toBeGreaterThan(180 + 45);
  });

  it('takes bubbles for no pulse', () => {
    const run = makeRun({
      endS: 400,
      hz: 5,
      events: oneVisit,
      reading: (ntu, t) => (Math.floor(t * 5) % 97 < 3 ? ntu + 80 : ntu),
    });
    const [visit] = analyseRecording(run.context, run.samples, run.events, { settings: noEcho }).visits;
    expect(visit?.pulses).toEqual([]);
    expect(visit?.done).toBe(true);
  });

  it('takes the dip of settled water and the way back for no pulse', () => {
    const run = makeRun({
      endS: 400,
      events: oneVisit,
      backgroundNtu: 40,
      reading: (ntu, t) => (t > 80 ? ntu - 25 * Math.exp(-(t - 80) / 18) : ntu),
    });
    const [visit] = analyseRecording(run.context, run.samples, run.events, { settings: noEcho }).visits;
    expect(visit?.pulses).toEqual([]);
  });

  it('learns the echo of this rig and waits for it', () => {
    // Two fifths of what arrives come round: 22.5 l of pipe, then chambers of 4.5 l and the emitter's 3 l, both stirred.
    const passes = [100, 500, 900];
    const endS = 1300;
    const litresPerS = 10 / 60;
    const own = (t: number): number =>
      passes.reduce((sum, pass) => {
        const age = t - pass - 18;
        return age > 0 ? sum + 500 * (1 - Math.exp(-age / 4)) * Math.exp(-age / 15) : sum;
      }, 0);
    const echo = new Float64Array(endS + 1);
    const stirred = [
      { litres: 4.5, ntu: 0 },
      { litres: 3, ntu: 0 },
    ];
    for (let t = 135; t <= endS; t += 1) {
      let ntu = own(t - 135) + (echo[t - 135] ?? 0);
      for (const tank of stirred) {
        tank.ntu += (ntu - tank.ntu) * (1 - Math.exp(-litresPerS / tank.litres));
        ntu = tank.ntu;
      }
      echo[t] = 0.4 * ntu;
    }
    const events = [
      ...oneVisit.slice(0, 3),
      ...passes.flatMap((t) => [[t, 'agitate-start', 'a'] as const, [t + 30, 'agitate-end', 'a'] as const]),
    ];
    const run = makeRun({ endS, events, reading: (ntu, t) => ntu + own(t) + (echo[Math.floor(t)] ?? 0) });
    const [visit] = analyseRecording(run.context, run.samples, run.events).visits;
    // The echo stands highest 180 s after each pass, and over the limit until about 250 s after it.
    for (const pass of passes.slice(1)) {
      const first = visit?.clears.find((c) => c.from_s > pass);
      expect(first?.from_s).toBeGreaterThan(pass + 200);
      expect(first?.from_s).toBeLessThan(pass + 300);
    }
  });
});

describe('cannot tell', () => {
  const pulses = [{ atS: 118, peakNtu: 200, tauS: 15 }];
  const quiet = { endS: 420, events: oneVisit, pulses };

  it('within 5 s of silence, and comes back', () => {
    const of = states(makeRun({ ...quiet, reading: (ntu, t) => (t > 300 && t < 340 ? 'nothing' : ntu) }));
    expect(of.get(299)).toBe('clear/clear');
    expect(firstS(of, /cannot-tell\/silence/, 300)).toBeLessThanOrEqual(305);
    expect(firstS(of, /clear/, 341)).toBeLessThan(365);
  });

  it('within 5 s when the sensor sends nothing', () => {
    const of = states(makeRun({ ...quiet, reading: (ntu, t) => (t > 300 ? null : ntu) }));
    expect(firstS(of, /cannot-tell\/turbidity-missing/, 300)).toBeLessThanOrEqual(305);
  });

  it('within 5 s of no flow, and the stopped water counts for nothing', () => {
    const run = makeRun({ ...quiet, pulses: [], flowLpm: (t) => (t > 140 && t < 240 ? 0 : 10) });
    const of = states(run);
    expect(firstS(of, /cannot-tell\/no-flow/, 140)).toBeLessThanOrEqual(145);
    expect(firstS(of, /clear/, 131)).toBeGreaterThan(240 + 36 - 10);
  });

  it('within 5 s at the top of the range, told or found out', () => {
    const big = [{ atS: 118, peakNtu: 3000, tauS: 40 }];
    const of = states(makeRun({ ...quiet, pulses: big, reading: (ntu) => Math.min(1000, ntu) }));
    expect(firstS(of, /cannot-tell\/over-range/, 118)).toBeLessThanOrEqual(118 + 3 + 5);
  });

  it('after 30 equal readings of a fine sensor, but not of a coarse one in quiet water', () => {
    const stuck = (stepNtu: number) =>
      states(makeRun({ ...quiet, stepNtu, noiseNtu: 0.5, reading: (ntu, t) => (t > 300 ? 21 : ntu) }));
    expect(firstS(stuck(0.01), /cannot-tell\/stuck/, 300)).toBeLessThanOrEqual(300 + 30 / 2 + 3);
    const made = makeRun({ ...quiet, pulses: [], stepNtu: 5, noiseNtu: 0.5 });
    const coarse = { ...made, context: { ...made.context, kit: { channels: { turbidity: { step: 5 } } } } };
    expect([...states(coarse).values()].some((s) => s.includes('stuck'))).toBe(false);
  });

  it('when the lamp is dark', () => {
    const of = states(makeRun({ ...quiet, reading: (ntu, t) => (t > 300 ? 0.02 + 0.01 * (Math.floor(t) % 3) : ntu) }));
    expect(firstS(of, /cannot-tell\/dark/, 300)).toBeLessThanOrEqual(305);
  });

  it('out of saturation until the fall is a plausible tail', () => {
    // The load rises to four times the range; the sensor folds back: 1000, down to 250, up to 1000 again, then the true tail.
    const run = makeRun({
      ...quiet,
      pulses: [{ atS: 118, peakNtu: 5000, tauS: 40 }],
      reading: (ntu) => (ntu > 1000 ? Math.max(200, 1000 - 0.25 * (ntu - 1000)) : ntu),
    });
    const of = states(run);
    for (let t = 135; t < 170; t += 1) expect(of.get(t), `at ${t} s`).not.toMatch(/clear|settling/);
  });

  it('is no refusal when the flow stops because the emitter is being shut, the tap some seconds late', () => {
    const events = [...oneVisit, [310, 'emitter-shut', 'a'] as const];
    const run = makeRun({ ...quiet, events, flowLpm: (t) => (t > 304 ? 0 : 10) });
    const [visit] = analyseRecording(run.context, run.samples, run.events, { settings: noEcho }).visits;
    expect(visit?.withheld).toBe(false);
    expect(visit?.clear_at_s).not.toBeNull();
  });

  it('is withheld when the visit ends so', () => {
    const events = [...oneVisit, [400, 'emitter-shut', 'a'] as const];
    const run = makeRun({ ...quiet, events, reading: (ntu, t) => (t > 300 ? null : ntu) });
    const [visit] = analyseRecording(run.context, run.samples, run.events, { settings: noEcho }).visits;
    expect(visit?.withheld).toBe(true);
    expect(visit?.clear_at_s).toBeNull();
    expect(visit?.clears.length).toBe(1);
  });
});

describe('without some sensors', () => {
  it('reckons litres without a flow sensor, and says so', () => {
    const run = makeRun({
      endS: 420,
      events: oneVisit,
      flowLpm: () => null,
      pulses: [{ atS: 118, peakNtu: 200, tauS: 15 }],
    });
    const [visit] = analyseRecording(run.context, run.samples, run.events, { settings: noEcho }).visits;
    // 6 l and a margin take 40 s at the 10 l/min that flow, and 100 s at the 4 that are reckoned before the front has come.
    expect((visit?.clear_at_s ?? 0) - 130).toBeGreaterThan(40);
    expect((visit?.clear_at_s ?? 0) - 130).toBeLessThan(100);
    expect(visit?.reason.text).toMatch(/no flow sensor/i);
  });

  it('says why in one sentence with figures', () => {
    const run = makeRun({ endS: 420, events: oneVisit, pulses: [{ atS: 118, peakNtu: 200, tauS: 15 }] });
    const [visit] = analyseRecording(run.context, run.samples, run.events, { settings: noEcho }).visits;
    expect(visit?.reason.text).toMatch(
      /^Turned clear at \d+(\.\d)? NTU over a background of (?:19|20)(\.\d)?; \d+(\.\d)? l since the last pass, \d+(\.\d)? l needed\.$/,
    );
  });

  it('counts the litres from the opening where no pass was made: there is no last one', () => {
    const run = makeRun({ endS: 420, events: oneVisit.filter(([, name]) => !name.startsWith('agitate')), pulses: [] });
    const [visit] = analyseRecording(run.context, run.samples, run.events, { settings: noEcho }).visits;
    expect(visit?.reason.text).toMatch(/^Turned clear at .*; \d+ l since it was opened, \d+(\.\d)? l needed\.$/);
  });
});
