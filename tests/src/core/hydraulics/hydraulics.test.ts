import { describe, expect, it } from 'vitest';
import { Hydraulics } from '../../../../src/core/hydraulics/hydraulics.ts';
import type { Remark } from '../../../../src/core/hydraulics/remark.ts';
import { messageCodes, say } from '../../../../src/core/message/message.ts';
import { emptySample } from '../../../../src/core/quantity/sample.ts';
import { seeded } from '../changepoint/gaussian.ts';

interface Moment {
  flowLpm: number | null;
  pressureBar: number | null;
  returnC: number | null;
  turbidityNtu: number | null;
}

type Trace = (t: number) => Partial<Moment>;
type Tap = readonly [timeS: number, event: string, emitter?: string];

const quiet: Moment = { flowLpm: 10, pressureBar: 1.3, returnC: 45, turbidityNtu: 20 };

/** Ten minutes at 5 Hz, noise of 2 % on the flow and 4 mbar on the pressure, in a visit unless told otherwise. */
function run(
  trace: Trace,
  taps: readonly Tap[] = [],
  seconds = 600,
  context: { system?: 'open-vented' } = {},
  meterStepLpm = 0,
): Remark[] {
  const g = seeded(3).normal;
  const h = new Hydraulics(context);
  const events: Tap[] = [[0, 'stage:emitters'], [0, 'emitter-open', 'a'], ...taps];
  const out: Remark[] = [];
  for (let i = 0; i < seconds * 5; i++) {
    const timeS = i / 5;
    while (events[0] && events[0][0] <= timeS) {
      const [at, event, emitter = ''] = events.shift() ?? [0, ''];
      h.event({ timeS: at, event, emitter, note: '' });
    }
    const m = { ...quiet, ...trace(timeS) };
    const read = m.flowLpm === null ? null : Math.max(0, m.flowLpm * (1 + 0.02 * g()));
    const flowLpm = read !== null && meterStepLpm > 0 ? meterStepLpm * Math.round(read / meterStepLpm) : read;
    const pressureBar = m.pressureBar === null ? null : m.pressureBar + 0.004 * g();
    out.push(...h.sample({ ...emptySample(timeS), ...m, flowLpm, pressureBar }));
  }
  return out;
}

/** What is said of a visit of ten minutes with these flow readings, noise and all. */
function hear(flowLpm: (t: number) => number): string[] {
  const h = new Hydraulics({});
  for (const event of ['stage:emitters', 'emitter-open']) h.event({ timeS: 0, event, emitter: 'a', note: '' });
  const out: Remark[] = [];
  for (let i = 0; i < 3000; i++) out.push(...h.sample({ ...emptySample(i / 5), flowLpm: flowLpm(i / 5) }));
  return codes(out);
}

const codes = (r: readonly Remark[]): string[] => r.map((x) => x.reason.code);

describe('pump and valves', () => {
  it('a quiet visit says nothing, nor does one with releases, warming, slow loss of flow or a missing sensor', () => {
    expect(run(() => ({}))).toEqual([]);
    expect(run((t) => ({ turbidityNtu: 20 + 800 * Math.exp(-(((t % 150) - 60) ** 2) / 400) }))).toEqual([]);
    expect(run((t) => ({ returnC: 20 + t / 20, pressureBar: 1 + t / 2000 }))).toEqual([]);
    expect(run((t) => ({ flowLpm: 10 - t / 300 }))).toEqual([]);
    expect(run(() => ({ flowLpm: null, pressureBar: null, returnC: null, turbidityNtu: null }))).toEqual([]);
  });

  it('flow to nothing is said within 5 s, and its return', () => {
    const said = run((t) => (t >= 300 && t < 340 ? { flowLpm: 0 } : {}));
    expect(codes(said)).toEqual(['flow-stopped', 'flow-back']);
    expect(said[0]?.atS).toBeLessThanOrEqual(305);
    expect(said[0]?.reason.figures['beforeLpm']).toBeCloseTo(10, 0);
    expect(said[1]?.reason.figures['lastedS']).toBeCloseTo(40, -1);
  });

  it('a stop that the engineer told is none', () => {
    expect(
      run(
        (t) => (t >= 300 && t < 340 ? { flowLpm: 0 } : {}),
        [
          [298, 'rig-pump-off'],
          [341, 'rig-pump-on'],
        ],
      ),
    ).toEqual([]);
  });

  it('a fall that no tap explains is a valve shut; with a tap, even a late one, it is not', () => {
    const fall: Trace = (t) => (t >= 300 ? { flowLpm: 6 } : {});
    const said = run(fall);
    expect(codes(said)).toEqual(['valve-shut']);
    expect(Math.abs((said[0]?.fromS ?? 0) - 300)).toBeLessThanOrEqual(3);
    expect(said[0]?.reason.figures['afterLpm']).toBeCloseTo(6, 0);
    expect(run(fall, [[295, 'emitter-open', 'b']])).toEqual([]);
    expect(run(fall, [[312, 'emitter-open', 'b']])).toEqual([]);
  });

  it('a rise within a visit is a second emitter open, its end is one alone again; back from a kink is a valve', () => {
    expect(codes(run((t) => (t >= 300 && t < 400 ? { flowLpm: 15 } : {})))).toEqual(['two-open', 'one-open']);
    expect(codes(run((t) => (t >= 300 && t < 400 ? { flowLpm: 6 } : {})))).toEqual(['valve-shut', 'valve-opened']);
  });

  it('a second emitter is shut again when the flow is back, also where its own tap or a stop of the pump hides the step', () => {
    const rise = (t: number): number => (t >= 200 && t < 400 ? 15 : 10);
    const said = run((t) => ({ flowLpm: rise(t) }), [[398, 'emitter-shut', 'b']]);
    expect(codes(said)).toEqual(['two-open', 'one-open']);
    expect(said[1]?.fromS).toBeCloseTo(400, -1);
    expect(said[1]?.atS).toBeLessThan(440);
    const stopped = run((t) => ({ flowLpm: t >= 370 && t < 400 ? 0 : rise(t) }));
    expect(codes(stopped)).toEqual(['two-open', 'flow-stopped', 'flow-back', 'one-open']);
  });

  it('a second emitter stays open while a filling chamber takes the flow of both', () => {
    expect(codes(run((t) => ({ flowLpm: t < 200 ? 10 : 15 - (t - 200) / 160 })))).toEqual(['two-open']);
  });

  it('a second emitter is told where the tap of the last shutting came after the next opening', () => {
    const taps: Tap[] = [
      [200, 'emitter-open', 'b'],
      [204, 'emitter-shut', 'a'],
    ];
    expect(codes(run((t) => (t >= 300 ? { flowLpm: 15 } : {}), taps))).toEqual(['two-open']);
  });

  it('a second visit with more flow than the first of the same emitter is two open', () => {
    const taps: Tap[] = [
      [200, 'emitter-shut', 'a'],
      [205, 'emitter-open', 'b'],
      [400, 'emitter-shut', 'b'],
      [405, 'emitter-open', 'a'],
    ];
    const said = run((t) => ({ flowLpm: t < 200 ? 10 : t < 400 ? 7 : 14 }), taps);
    expect(codes(said)).toEqual(['two-open']);
    expect(said[0]?.reason.figures['aloneLpm']).toBeCloseTo(10, 0);
  });
});

describe('a tap explains what it did', () => {
  it('and no second rise after it: half a minute later another emitter has opened', () => {
    const taps: Tap[] = [
      [200, 'emitter-open', 'b'],
      [205, 'emitter-shut', 'a'],
    ];
    const flowLpm = (t: number): number => (t < 200 ? 10 : t < 205 ? 13 : t < 232 ? 8 : 12);
    const said = run((t) => ({ flowLpm: flowLpm(t) }), taps);
    expect(codes(said)).toEqual(['two-open']);
    expect(said[0]?.fromS).toBeCloseTo(232, -1);
    expect(run((t) => ({ flowLpm: Math.min(8, flowLpm(t)) }), taps)).toEqual([]);
  });

  it('a stop that begins under it is told when it has outlasted it', () => {
    const said = run((t) => ({ flowLpm: t > 225 ? 0 : 10 }), [[200, 'emitter-open', 'b']]);
    expect(codes(said)).toEqual(['flow-stopped']);
    expect(said[0]?.fromS).toBeCloseTo(226, -1);
    expect(said[0]?.atS).toBeLessThan(250);
    const off: Tap[] = [
      [200, 'emitter-open', 'b'],
      [227, 'rig-pump-off'],
    ];
    expect(run((t) => ({ flowLpm: t > 225 ? 0 : 10 }), off)).toEqual([]);
  });

  it('and a move by one step of a coarse meter is none', () => {
    const coarse = (lpm: number): number => 0.5 * Math.round(lpm / 0.5);
    expect(hear((t) => coarse(t < 300 ? 3.1 : 3.4))).toEqual([]);
    expect(hear((t) => coarse(t < 300 ? 3.1 : 4.4))).toEqual(['two-open']);
  });

  it('and a meter of whole litres shows by its readings that a litre more is no second emitter, and two are', () => {
    const g = seeded(5).normal;
    const whole = (lpm: number): number => Math.round(lpm + 0.3 * g());
    expect(hear((t) => whole(t < 300 ? 5.2 : 6))).toEqual([]);
    expect(hear((t) => whole(t < 300 ? 5.2 : 8))).toEqual(['two-open']);
  });

  it('and what changed while no flow was read is no step of now', () => {
    const flowLpm = (t: number): number | null => (t < 200 ? 10 : t < 290 ? null : 15);
    const taps: Tap[] = [
      [210, 'emitter-open', 'b'],
      [214, 'emitter-shut', 'a'],
    ];
    expect(run((t) => ({ flowLpm: flowLpm(t) }), taps)).toEqual([]);
  });

  it('a step at the end of a slow fall is dated at the step, where its tap is', () => {
    const falling = (t: number): number => (t < 360 ? 10 : t < 384 ? 9.6 : 4);
    expect(run((t) => ({ flowLpm: falling(t) }), [[400, 'emitter-open', 'b']])).toEqual([]);
  });
});

describe('pressure', () => {
  it('a leak is told with at least its rate less what cooling may explain; cooling alone is none', () => {
    const leaking: Trace = (t) => ({ pressureBar: 1.3 - Math.max(0, t - 200) * (0.06 / 60) });
    const said = run(leaking);
    expect(codes(said)).toEqual(['leak']);
    expect(said[0]?.atS).toBeLessThan(420);
    expect(said[0]?.reason.figures['barPerMin']).toBeGreaterThan(0.02);
    expect(said[0]?.reason.figures['barPerMin']).toBeLessThan(0.065);
    expect(said[0]?.reason.figures).not.toHaveProperty('mlPerMin');
    expect(run((t) => ({ pressureBar: 1.3 - t / 6000, returnC: 60 - t / 60 }))).toEqual([]);
    expect(run(leaking, [], 600, { system: 'open-vented' })).toEqual([]);
  });

  /** Visits of five minutes, one emitter after the other; each opening moves the pressure by 50 mbar, up or down. */
  const swaps: Tap[] = [1, 2, 3, 4, 5].flatMap((n): Tap[] => [
    [300 * n, 'emitter-open', `${n}`],
    [300 * n + 3, 'emitter-shut', n === 1 ? 'a' : `${n - 1}`],
  ]);
  const stepped = (t: number): number => 1.3 + 0.05 * (Math.floor(t / 300) % 2);

  it('a leak of half a bar an hour is told although emitters are opened and shut; their steps alone are none', () => {
    const said = run((t) => ({ pressureBar: stepped(t) - (t * 0.5) / 3600 }), swaps, 1800);
    // Once more when as many quiet minutes have gone by and it still falls.
    expect(codes(said)).toEqual(['leak', 'leak']);
    expect(said[0]?.atS).toBeLessThan(900);
    expect((said[1]?.atS ?? 0) - (said[0]?.atS ?? 0)).toBeGreaterThan(600);
    expect(said[0]?.reason.figures['barPerMin']).toBeCloseTo(0.5 / 60, 3);
    expect(said[0]?.reason.figures['overS']).toBeLessThan(said[0]?.atS ?? 0);
    expect(run((t) => ({ pressureBar: stepped(t) }), swaps, 1800)).toEqual([]);
    const cooling = run((t) => ({ pressureBar: stepped(t) - (t * 0.5) / 3600, returnC: 60 - t / 150 }), swaps, 1800);
    expect(cooling).toEqual([]);
  });

  /** A chamber fills from 100 s to `toS`, and the pressure at the sensor goes with the square of the flow. */
  const filling =
    (barPerSquare: number, toS: number, leakBarPerMin = 0): Trace =>
    (t) => {
      const flowLpm = 16 - 4 * Math.min(1, Math.max(0, t - 100) / (toS - 100)) ** 1.5;
      return { flowLpm, pressureBar: 1.3 + barPerSquare * (flowLpm ** 2 - 256) - (t / 60) * leakBarPerMin };
    };

  it('that goes with the flow of a filling chamber, whichever way, is no leak and no filling loop', () => {
    for (const barPerSquare of [0.0012, -0.0012])
      for (const toS of [250, 400, 600]) expect(codes(run(filling(barPerSquare, toS)))).toEqual([]);
    // The pressure alone would look like it.
    const unread =
      (barPerSquare: number): Trace =>
      (t) => ({ ...filling(barPerSquare, 400)(t), flowLpm: null });
    expect(codes(run(unread(0.0012)))).toEqual(['leak']);
    expect(codes(run(unread(-0.0012)))).toEqual(['filling-loop-open']);
  });

  it('that goes on falling when the flow is steady again is a leak, in the same time as ever', () => {
    for (const barPerSquare of [0.0012, -0.0012]) {
      const said = run(filling(barPerSquare, 300, 0.06));
      expect(codes(said)).toEqual(['leak']);
      expect(said[0]?.atS).toBeLessThan(300 + 140);
    }
  });

  it('a leak that was stopped is not told afterwards', () => {
    const mended = (t: number): number => stepped(t) - (Math.min(t, 600) * 0.5) / 3600;
    expect(run((t) => ({ pressureBar: mended(t) }), swaps, 1800)).toEqual([]);
  });

  it('a filling loop left open is told within two minutes; heating alone and filling itself are none', () => {
    const climbing: Trace = (t) => ({ pressureBar: 1.3 + Math.max(0, t - 200) * (0.15 / 60) });
    const said = run(climbing);
    expect(codes(said)).toEqual(['filling-loop-open']);
    expect(said[0]?.atS).toBeLessThan(320);
    expect(run((t) => ({ pressureBar: 1.3 + t / 3000, returnC: 20 + t / 30 }))).toEqual([]);
    expect(run(climbing, [[0, 'stage:fill']])).toEqual([]);
  });

  it('in the rinse flow and pressure falling together are the mains; flow alone is a stop', () => {
    const rinse: Tap[] = [[1, 'stage:rinse']];
    const gone = (t: number): boolean => t >= 300 && t < 330;
    const mains = run((t) => (gone(t) ? { flowLpm: 0.2, pressureBar: 0.1 } : {}), rinse);
    expect(codes(mains)).toEqual(['mains-lost', 'mains-back']);
    expect(codes(run((t) => (gone(t) ? { flowLpm: 0 } : {}), rinse))).toEqual(['rinse-flow-stopped', 'flow-back']);
  });
});

describe('capture chamber', () => {
  const loading: Trace = (t) => ({ flowLpm: 10 - t / 250, turbidityNtu: 15 + t / 15 });

  it('is full when the flow sinks while the background climbs, told once; emptying starts anew', () => {
    const said = run(loading);
    expect(codes(said)).toEqual(['chamber-full']);
    expect(say({ code: 'chamber-full', params: { ...said[0]?.reason.figures } })).toContain('Empty it now');
  });

  it('and a flow that sank by one step of a coarse meter fills none', () => {
    const little: Trace = (t) => ({ ...loading(t), flowLpm: 6.9 - t / 550 });
    expect(codes(run(little))).toEqual(['chamber-full']);
    expect(codes(run(little, [], 600, {}, 1))).toEqual([]);
  });

  it('neither alone says so', () => {
    expect(run((t) => ({ flowLpm: 10 - t / 250 }))).toEqual([]);
    expect(run((t) => ({ turbidityNtu: 15 + t / 15 }))).toEqual([]);
  });
});

describe('remarks', () => {
  it('depend on what came up to their time alone, and each has its sentence', () => {
    const trace: Trace = (t) => ({
      flowLpm: t >= 150 && t < 200 ? 0 : t >= 350 ? 15 : 10,
      pressureBar: 1.3 - Math.max(0, t - 400) * 0.002,
    });
    const whole = run(trace);
    expect(codes(whole)).toEqual(['flow-stopped', 'flow-back', 'two-open', 'leak']);
    for (const cut of [153, 160, 202, 370, 420, 520])
      expect(run(trace, [], cut)).toEqual(whole.filter((r) => r.atS < cut - 1));
    for (const code of codes(whole)) expect(messageCodes).toContain(code);
    for (const r of whole) expect(r.fromS).toBeLessThanOrEqual(r.atS);
  });
});
