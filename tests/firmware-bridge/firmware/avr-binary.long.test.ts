import { beforeAll, describe, expect, it } from 'vitest';
import { Bench } from './bench.ts';
import { avrSize, noAvr } from './build.ts';

/** A second of the chip costs seconds of this machine: one chip lives through all of it, in this order. */
describe.skipIf(noAvr)(`firmware, the very binary, in a simulated chip${noAvr ? ` (${noAvr})` : ''}`, () => {
  let b: Bench;
  beforeAll(() => {
    if (!noAvr) b = new Bench();
  });

  it('brings the readings of its pins to the far end, within quantisation', () => {
    const pack = b.run(2.5);
    expect(pack.kit).toBe('urn:dev:ow:281e8316000000e2');
    expect(b.refused).toBe(0);
    expect(b.packs.every((p) => p.rejects.length === 0)).toBe(true);
    // One step of the 10-bit converter is 4.9 mV of 5 V: 4.9 NTU by the default line, 12 mbar by the default span.
    expect(Math.abs((pack.values.turbidityNtu ?? Number.NaN) - 61.5)).toBeLessThan(4.9);
    expect(Math.abs((pack.values.pressureBar ?? Number.NaN) - 1.2)).toBeLessThan(0.013);
    // 75 pulses a second at 450 a litre; a tick of the timer is 4 us of the 13.3 ms between pulses.
    expect(Math.abs((pack.values.flowLpm ?? Number.NaN) - 10)).toBeLessThan(0.02);
    expect(pack.values.supplyC).toBe(45.0625);
    expect(pack.values.returnC).toBe(-10.125);
    expect(pack.values.conductivityUsCm).toBeUndefined();
    expect(pack.boot).toBe(1);
    const hello = b.packs[0]?.hello;
    expect(hello?.firmware).toBe('0.1.0');
    expect(hello?.rateHz).toBe(10);
    expect(b.reader.counters.gaps).toBe(0);
  });

  it('follows a slow flow, a stop, and a meter faster than any', () => {
    b.inputs.flowHz = 7.5;
    expect(Math.abs((b.run(2).values.flowLpm ?? Number.NaN) - 1)).toBeLessThan(0.01);
    b.inputs.flowHz = 0;
    expect(b.run(2.5).values.flowLpm).toBe(0);
    b.inputs.flowHz = 900;
    // 120 l/min; edges closer than 1 ms would be noise, these are 1.1 ms apart.
    expect(Math.abs((b.run(1).values.flowLpm ?? Number.NaN) - 120)).toBeLessThan(2);
  });

  it('answers commands, keeps the rate over a power cut, and counts its starts', () => {
    b.command('[{"n":"do-rate","u":"1/s","v":5}]');
    b.run(0.5);
    expect(b.packs.some((p) => p.hello?.rateHz === 5)).toBe(true);
    b.command('[{"n":"do-rate","v":99}]');
    b.run(0.5);
    expect(b.packs.some((p) => p.refused === 'do-rate needs v from 0.5 to 20')).toBe(true);
    b.command('[{"n":"do-zero","vs":"pressure"}]');
    expect(Math.abs(b.run(0.5).values.pressureBar ?? Number.NaN)).toBeLessThan(0.02);
    b.chip.reset();
    const before = b.packs.length;
    const pack = b.run(1.5);
    expect(pack.boot).toBe(2);
    expect(b.packs.slice(before).some((p) => p.hello?.rateHz === 5)).toBe(true);
    expect(Math.abs(pack.values.pressureBar ?? Number.NaN)).toBeLessThan(0.02);
  });

  it('fits: program under 32 kB, data and worst stack under 2 kB', () => {
    const size = avrSize();
    b.command('[{"n":"do-rate","v":20}]');
    b.run(1);
    const seen = b.chip.deepestStack();
    const { program, data, stack } = size;
    console.log(`firmware: ${program} bytes of program, ${data} of data, ${stack} of stack at worst, ${seen} seen`);
    expect(program).toBeLessThan(32_256);
    expect(data + stack).toBeLessThan(2048);
    // The bound comes from the program, the other from the running chip: they check one another.
    expect(seen).toBeLessThanOrEqual(stack);
    expect(seen).toBeGreaterThan(stack / 3);
  });
});
