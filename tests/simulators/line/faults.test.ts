import { expect, test } from 'vitest';
import { encodeLine } from '../../../firmware-bridge/wire/encode.ts';
import { WireReader } from '../../../firmware-bridge/wire/wire-reader.ts';
import {
  cut,
  delay,
  duplicate,
  flip,
  noise,
  partialFirstLine,
  restart,
  through,
  wrongBaud,
  type LineFault,
  type TimedChunk,
} from '../../../simulators/line/faults.ts';

const lines = (boot: number, count: number): TimedChunk[] =>
  Array.from({ length: count }, (_, seq) => ({
    atS: seq / 10,
    bytes: encodeLine({ kit: 'urn:dev:mac:0024befffe804ff1', boot, seq, upS: seq / 10, values: { turbidityNtu: seq } }),
  }));

function read(faults: readonly LineFault[], seed = 1) {
  const reader = new WireReader();
  const out = through(lines(1, 500), faults, seed).flatMap((chunk) => reader.push(chunk.bytes));
  const packs = out.flatMap((d) => (d.ok ? [d.pack] : []));
  expect(packs.map((p) => p.values.turbidityNtu)).toEqual(packs.map((p) => p.seq));
  return reader.counters;
}

test('without a fault all comes through, and a seed gives the same trouble again', () => {
  expect(read([])).toMatchObject({ packs: 500, badLines: 0, oddBytes: 0 });
  const faults = [cut(0.1), flip(0.1), noise(0.1)];
  expect(through(lines(1, 100), faults, 7)).toEqual(through(lines(1, 100), faults, 7));
  expect(through(lines(1, 100), faults, 7)).not.toEqual(through(lines(1, 100), faults, 8));
});

test('doubled lines are dropped', () => {
  const counters = read([duplicate(0.3)]);
  expect(counters.packs).toBe(500);
  expect(counters.duplicates).toBeGreaterThan(100);
});

test('cut lines cost themselves, and the check sum saves the line that they ran into', () => {
  const counters = read([cut(0.1)]);
  expect(counters.badLines).toBeGreaterThan(30);
  expect(counters.resynchronised).toBeGreaterThan(30);
  expect(counters.packs + counters.missing).toBe(500);
});

test('flipped bits are seen, and what is missing is counted', () => {
  const counters = read([flip(0.2)]);
  expect(counters.badCrc).toBeGreaterThan(50);
  expect(counters.packs + counters.missing).toBe(500);
});

test('noise between the lines costs nothing but its own bytes', () => {
  const counters = read([noise(0.3)]);
  expect(counters.packs).toBe(500);
  expect(counters.oddBytes).toBeGreaterThan(500);
});

test('the first line after opening may be cut without an alarm', () => {
  expect(read([partialFirstLine])).toMatchObject({ packs: 499, firstPartial: 1, badLines: 0 });
});

test('a reset in the middle of a line loses that line alone', () => {
  expect(read([restart(100, lines(2, 50))])).toMatchObject({ packs: 150, restarts: 1 });
});

test('delays keep the order of a cable', () => {
  const out = through(lines(1, 100), [delay(2)], 3);
  for (const [i, chunk] of out.entries()) expect(chunk.atS).toBeGreaterThanOrEqual(out[i - 1]?.atS ?? 0);
});

test.each([
  ['a twelfth', 9600 / 115200],
  ['half', 0.5],
  ['double', 2],
  ['twelve times', 12],
])('at %s the speed not one pack is made, and many bytes are odd', (_what, speed) => {
  const counters = read([wrongBaud(speed)]);
  expect(counters.packs).toBe(0);
  expect(counters.oddBytes / counters.bytes).toBeGreaterThan(0.1);
});

test('two hundredths of a wrong speed, as cheap clocks have, change nothing', () => {
  expect(read([wrongBaud(1.02)])).toMatchObject({ packs: 500, badLines: 0 });
});
