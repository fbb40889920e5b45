import fc from 'fast-check';
import { describe, expect, it } from 'vitest';
import { encodeLine, encodePack, type PackToSend } from '../../../firmware-bridge/wire/encode.ts';
import type { Sample } from '../../../src/core/quantity/sample.ts';
import { Ingest } from '../../../src/run/ingest.ts';
import { RunTime } from '../../../src/run/run-time.ts';
import { SteppedClock } from './stepped-clock.ts';

const kitA = 'urn:dev:mac:02000000000000aa';
const kitB = 'urn:dev:mac:02000000000000bb';

function setUp() {
  const clock = new SteppedClock();
  const samples: Sample[] = [];
  const passes: string[] = [];
  const time = new RunTime(clock, 0);
  const ingest = new Ingest(time, {
    sample: (sample) => samples.push(sample),
    pass: (id) => passes.push(id),
    hello: () => undefined,
  });
  const send = (pack: Partial<PackToSend> & { seq: number; upS: number }, atS = pack.upS): void =>
    ingest.bytes(encodeLine({ kit: kitA, boot: 1, values: { turbidityNtu: 5 }, ...pack }), atS);
  return { clock, samples, passes, time, ingest, send };
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

  it('takes the messages of a broker just so', () => {
    const { samples, ingest } = setUp();
    const text = encodePack({ kit: kitA, boot: 1, seq: 0, upS: 1, values: { turbidityNtu: 7 } });
    ingest.message('limpid/mac:02000000000000aa/senml', new TextEncoder().encode(text), 1);
    expect(samples.map((s) => [s.timeS, s.turbidityNtu])).toEqual([[1, 7]]);
  });

  it('takes each pack once, and counts the double', () => {
    const { samples, ingest, send } = setUp();
    send({ seq: 0, upS: 1 });
    send({ seq: 0, upS: 1 });
    send({ seq: 1, upS: 1.1 });
    expect(samples).toHaveLength(2);
    expect(ingest.reader.counters.duplicates).toBe(1);
  });

  it('counts what comes after its place in the run has gone by, and does not bend the order', () => {
    const { samples, ingest, send } = setUp();
    send({ seq: 0, upS: 1 });
    send({ seq: 2, upS: 1.2 });
    send({ seq: 1, upS: 1.1 }, 1.25);
    send({ seq: 3, upS: 1.3 });
    send({ seq: 9, upS: 0.5, late: true }, 1.4);
    expect(samples.map((s) => s.timeS)).toEqual([1, 1.2, 1.3]);
    expect(ingest.counters.behind).toBe(2);
  });

  it('lets the first kit lead and counts the second; the second takes over when the first is gone', () => {
    const { samples, ingest, send } = setUp();
    send({ seq: 0, upS: 1 });
    send({ kit: kitB, seq: 0, upS: 500, values: { turbidityNtu: 99 } }, 1.1);
    expect(samples).toHaveLength(1);
    expect([ingest.leading, ingest.counters.otherKit]).toEqual([kitA, 1]);
    send({ kit: kitB, seq: 1, upS: 520, values: { turbidityNtu: 99 } }, 21.1);
    expect(ingest.leading).toBe(kitB);
    expect(samples.at(-1)?.turbidityNtu).toBe(99);
  });

  it('passes the button on after the sample of its pack, with the same id however often it comes', () => {
    const { passes, send } = setUp();
    send({ seq: 0, upS: 1, pass: true });
    send({ seq: 0, upS: 1, pass: true });
    send({ seq: 1, upS: 1.1 });
    expect(passes).toEqual([`kit-${kitA}-1-0`]);
  });

  it('counts samples that come long after the run has gone on, and sets them after all before', () => {
    const { samples, ingest, time, send } = setUp();
    send({ seq: 0, upS: 1 });
    time.pass(5);
    send({ seq: 1, upS: 1.1 });
    expect(samples[1]?.timeS).toBe(5.000001);
    expect(ingest.counters.moved).toBe(1);
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
});
