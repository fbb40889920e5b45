import fc from 'fast-check';
import { describe, expect, it } from 'vitest';
import { encodeLine, encodePack, type PackToSend } from '../../../firmware-bridge/wire/encode.ts';
import type { Sample } from '../../../src/core/quantity/sample.ts';
import { Ingest, type IngestSink } from '../../../src/run/ingest.ts';
import { RunTime } from '../../../src/run/run-time.ts';
import { SteppedClock } from './stepped-clock.ts';

const kitA = 'urn:dev:mac:02000000000000aa';
const kitB = 'urn:dev:mac:02000000000000bb';

function setUp({ kit = null }: { readonly kit?: string | null } = {}) {
  const clock = new SteppedClock();
  const samples: Sample[] = [];
  const late: Sample[] = [];
  const passes: string[] = [];
  const restarts: string[] = [];
  const pressedS: (number | null)[] = [];
  const time = new RunTime(clock, 0);
  const sink: IngestSink = {
    sample: (sample) => samples.push(sample),
    late: (sample) => late.push(sample),
    pass: (id, s) => {
      passes.push(id);
      pressedS.push(s);
    },
    hello: () => undefined,
    restarted: (name, boot) => restarts.push(`${name} ${boot}`),
  };
  const ingest = new Ingest(time, sink, undefined, kit);
  const send = (pack: Partial<PackToSend> & { seq: number; upS: number }, atS = pack.upS): void =>
    ingest.bytes(encodeLine({ kit: kitA, boot: 1, values: { turbidityNtu: 5 }, ...pack }), atS);
  /** Over a broker. */
  const publish = (pack: Partial<PackToSend> & { seq: number; upS: number }, atS: number): void =>
    ingest.message(
      'limpid/mac:02000000000000aa/senml',
      new TextEncoder().encode(encodePack({ kit: kitA, boot: 1, values: { turbidityNtu: 5 }, ...pack })),
      atS,
    );
  return { clock, samples, late, passes, pressedS, restarts, publish, time, ingest, send };
}

describe('ingest', () => {
  it('makes one sample of one pack, in our units, on the run clock', () => {
    const { samples, send } = setUp();
    send({ seq: 0, upS: 1, values: { turbidityNtu: 12.3456, flowLpm: 14.2, pressureBar: 1.05 } });
    expect(samples).toEqual([
      {
        timeS: 1,
        turbidityNtu: 12.3456,
        turbidityOutNtu: null,
        flowLpm: 14.2,
        pressureBar: 1.05,
        supplyC: null,
        returnC: null,
        conductivityUsCm: null,
      },
    ]);
  });

  it('takes the messages of a broker just so, once it knows that none of them had waited there', () => {
    const { samples, publish } = setUp();
    for (let i = 0; i < 3; i++) publish({ seq: i, upS: i / 10 }, 1 + i / 10);
    expect(samples).toEqual([]);
    for (let i = 3; i < 8; i++) publish({ seq: i, upS: i / 10 }, 1 + i / 10);
    expect(samples.map((s) => s.timeS)).toEqual([1, 1.1, 1.2, 1.3, 1.4, 1.5, 1.6, 1.7]);
  });

  it('gives what a broker had kept for a bridge just started no place: that time is not in the run', () => {
    const { samples, late, ingest, publish } = setUp();
    // A minute of packs, given out within 60 ms, then live ones.
    for (let i = 0; i < 600; i++) publish({ seq: i, upS: i / 10 }, 0.01 + i / 1e4);
    for (let i = 601; i < 611; i++) publish({ seq: i, upS: i / 10 }, 0.01 + (i - 600) / 10);
    expect(samples[0]?.timeS).toBeLessThan(0.15);
    expect(samples.at(-1)?.timeS).toBeCloseTo(1.01, 2);
    expect(late).toEqual([]);
    expect(ingest.counters.behind + samples.length).toBe(610);
    expect(samples.length).toBeGreaterThanOrEqual(10);
    expect(samples.length).toBeLessThanOrEqual(11);
  });

  it('places what the broker kept over an outage at its own time, and goes on live', () => {
    const { samples, late, ingest, publish, time } = setUp();
    for (let i = 0; i < 100; i++) publish({ seq: i, upS: i / 10 }, 1 + i / 10);
    time.pass(70.5);
    for (let i = 100; i < 700; i++) publish({ seq: i, upS: i / 10 }, 71 + i / 1e5);
    for (let i = 700; i < 720; i++) publish({ seq: i, upS: i / 10 }, 1 + i / 10 + 0.1);
    const all = [...samples, ...late].map((s) => s.timeS).sort((a, b) => a - b);
    expect(all).toHaveLength(720);
    for (const [i, timeS] of all.entries()) expect(Math.abs(timeS - 1 - i / 10)).toBeLessThan(0.51);
    expect(late.length).toBeGreaterThan(580);
    expect(ingest.counters).toMatchObject({ behind: 0, placedLate: late.length });
  });

  it('takes each pack once, and counts the double', () => {
    const { samples, ingest, send } = setUp();
    send({ seq: 0, upS: 1 });
    send({ seq: 0, upS: 1 });
    send({ seq: 1, upS: 1.1 });
    expect(samples).toHaveLength(2);
    expect(ingest.reader.counters.duplicates).toBe(1);
  });

  it('sets what comes after its time has gone by beside the others, and does not bend the order', () => {
    const { samples, late, ingest, send } = setUp();
    send({ seq: 0, upS: 1 });
    send({ seq: 2, upS: 1.2 });
    send({ seq: 1, upS: 1.1 }, 1.25);
    send({ seq: 3, upS: 1.3 });
    send({ seq: 9, upS: 0.5, late: true }, 1.4);
    expect(samples.map((s) => s.timeS)).toEqual([1, 1.2, 1.3]);
    expect(late.map((s) => s.timeS)).toEqual([1.1, 0.5]);
    expect(ingest.counters).toMatchObject({ behind: 0, placedLate: 2 });
  });

  it('places the packs that a kit had kept, sent before the first live one, once that has come', () => {
    const { samples, late, pressedS, ingest, send } = setUp();
    send({ seq: 0, upS: 2, late: true, pass: true }, 5);
    send({ seq: 1, upS: 3, late: true }, 5.01);
    send({ seq: 90, upS: 1, boot: 0, late: true }, 5.02);
    expect([...samples, ...late]).toEqual([]);
    send({ seq: 2, upS: 5.1 }, 5.1);
    expect(late.map((s) => s.timeS)).toEqual([2, 3]);
    expect(samples.map((s) => s.timeS)).toEqual([5.1]);
    expect(pressedS).toEqual([2]);
    // Of a start that was never heard live nobody knows when it was.
    expect(ingest.counters.behind).toBe(1);
  });

  it('lets the first kit lead and counts one that speaks beside it, which never takes over: a spare one does', () => {
    const { samples, ingest, send } = setUp();
    send({ seq: 0, upS: 1 });
    send({ kit: kitB, seq: 0, upS: 500, values: { turbidityNtu: 99 } }, 1.1);
    expect(samples).toHaveLength(1);
    expect([ingest.leading, ingest.counters.otherKit]).toEqual([kitA, 1]);
    send({ kit: kitB, seq: 1, upS: 520, values: { turbidityNtu: 99 } }, 21.1);
    expect([ingest.leading, ingest.counters.otherKit]).toEqual([kitA, 2]);
    expect([ingest.heardBesides(20), ingest.heardBesides(22)]).toEqual([kitB, null]);
    const spare = 'urn:dev:mac:0024befffe804fcc';
    send({ kit: spare, seq: 0, upS: 3, values: { turbidityNtu: 7 } }, 22);
    expect(ingest.leading).toBe(spare);
    expect(samples.at(-1)?.turbidityNtu).toBe(7);
    send({ seq: 1, upS: 23 }, 23);
    expect(ingest.leading).toBe(spare);
  });

  it('waits after a restart for the kit of the record, a minute long; at a broker for good', () => {
    const { samples, ingest, send } = setUp({ kit: kitA });
    for (let n = 0; n < 59; n++) send({ kit: kitB, seq: n, upS: 500 + n, values: { turbidityNtu: 99 } }, 1 + n);
    expect([ingest.leading, samples.length]).toEqual([kitA, 0]);
    send({ kit: kitB, seq: 60, upS: 561.5, values: { turbidityNtu: 99 } }, 62.5);
    expect([ingest.leading, samples.length]).toEqual([kitB, 1]);

    const shared = setUp({ kit: kitB });
    for (let n = 0; n < 400; n++) shared.publish({ seq: n, upS: 500 + n }, 1 + n);
    expect([shared.ingest.leading, shared.samples.length]).toEqual([kitB, 0]);
  });

  it('remembers a bounded number of kits, whatever names come', () => {
    const { samples, ingest, send } = setUp();
    send({ seq: 0, upS: 1 });
    for (let n = 0; n < 100; n++)
      send({ kit: `urn:dev:mac:02000000${String(n).padStart(8, '0')}`, seq: 0, upS: 5 }, 1.1);
    send({ seq: 1, upS: 1.2 }, 1.2);
    expect([ingest.leading, samples.length, ingest.counters.otherKit]).toEqual([kitA, 2, 100]);
  });

  it('passes the button on after the sample of its pack, with the same id however often it comes', () => {
    const { passes, send } = setUp();
    send({ seq: 0, upS: 1, pass: true });
    send({ seq: 0, upS: 1, pass: true });
    send({ seq: 1, upS: 1.1 });
    expect(passes).toEqual([`kit-${kitA}-1-0`]);
  });

  it('bridges half a second that the run was ahead, and counts it; more is late', () => {
    const { samples, late, ingest, time, send } = setUp();
    send({ seq: 0, upS: 1 });
    time.pass(1.5);
    send({ seq: 1, upS: 1.1 });
    expect(samples[1]?.timeS).toBe(1.500001);
    expect(ingest.counters.moved).toBe(1);
    time.pass(5);
    // What was kept comes all at once, after a pause.
    for (let i = 0; i < 3; i++) send({ seq: 2 + i, upS: 1.2 + i / 10 }, 5 + i / 1000);
    send({ seq: 39, upS: 5.1 }, 5.1);
    expect([samples.length, late.map((s) => s.timeS)]).toEqual([3, [1.2, 1.3, 1.4]]);
  });

  it('goes on live when the clock of the kit stood still: what comes one after the other was not kept', () => {
    const { samples, late, ingest, time, send } = setUp();
    send({ seq: 0, upS: 1 });
    time.pass(10);
    for (let i = 1; i < 20; i++) send({ seq: i, upS: 1 + i / 10 }, 10.5 + i / 10);
    expect([samples.length, late.length, ingest.counters.moved]).toEqual([20, 0, 19]);
  });

  it('survives any bytes', () => {
    fc.assert(
      fc.property(fc.array(fc.uint8Array({ maxLength: 200 }), { maxLength: 10 }), (chunks) => {
        const { samples, ingest, send } = setUp();
        for (const chunk of chunks) ingest.bytes(chunk, 0.5);
        ingest.bytes(new Uint8Array([10]), 0.5);
        send({ seq: 0, upS: 1 });
        expect(samples).toHaveLength(1);
      }),
    );
  });
});

describe('the run clock', () => {
  it('gives rising times, whole milliseconds where it can, whatever is asked for', () => {
    fc.assert(
      fc.property(fc.array(fc.double({ min: -1, max: 1e5, noNaN: true }), { minLength: 1 }), (wanted) => {
        const time = new RunTime(new SteppedClock(), 0);
        let last = -1;
        for (const w of wanted) {
          const t = time.next(w);
          expect(t).toBeGreaterThan(last);
          expect(t).toBeGreaterThanOrEqual(0);
          const ms = Math.round(w * 1000) / 1000;
          expect(t === ms || ms <= last || ms < 0).toBe(true);
          last = t;
        }
      }),
    );
  });

  it('goes on from where the record ends', () => {
    const clock = new SteppedClock();
    clock.run(7);
    const time = new RunTime(clock, 1234.5);
    expect(time.nowS()).toBe(1234.5);
    expect(time.next(time.nowS())).toBe(1234.500001);
    clock.run(1);
    expect(time.next(time.nowS())).toBe(1235.5);
  });

  it('tells once that the leading kit began anew, and never for its first pack or for one that comes late', () => {
    const { restarts, send } = setUp();
    send({ seq: 0, upS: 1 });
    send({ seq: 1, upS: 2 });
    send({ seq: 0, upS: 0.5, boot: 2 }, 4);
    send({ seq: 1, upS: 1.5, boot: 2 }, 5);
    send({ seq: 2, upS: 3, boot: 1, late: true }, 5.1);
    send({ seq: 2, upS: 2.5, boot: 2 }, 6);
    expect(restarts).toEqual([`${kitA} 2`]);
  });
});
