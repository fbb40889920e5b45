import { expect, test } from 'vitest';
import { encodeLine } from '../../../firmware-bridge/wire/encode.ts';
import { WireReader } from '../../../firmware-bridge/wire/wire-reader.ts';
import { cut, duplicate, flip, noise, partialFirstLine, seeded, through } from '../../../simulators/line/faults.ts';

const kit = 'urn:dev:mac:0024befffe804ff1';
/** What a pack must hold if it is the one that was sent. */
const turbidityOf = (seq: number) => ((seq * 7919) % 10_000) / 10;

test('a million lines through every fault of a cable at once: no wrong value, every pack accounted for', () => {
  const rounds = 500;
  const perRound = 2000;
  let wrong = 0;
  let unaccounted = 0;
  let packs = 0;
  for (let seed = 0; seed < rounds; seed++) {
    const lines = Array.from({ length: perRound }, (_, seq) => ({
      atS: seq / 10,
      bytes: encodeLine({ kit, boot: seed, seq, upS: seq / 10, values: { turbidityNtu: turbidityOf(seq) } }),
    }));
    const reader = new WireReader();
    const faults = [partialFirstLine, cut(0.02), flip(0.05), noise(0.05), duplicate(0.02)];
    const got = through(lines, faults, seed).flatMap(({ bytes }) => reader.push(bytes));
    const taken = got.flatMap((d) => (d.ok ? [d.pack] : []));
    wrong += taken.filter((p) => p.values.turbidityNtu !== turbidityOf(p.seq)).length;
    const { missing } = reader.counters;
    const first = taken[0]?.seq ?? 0;
    const last = taken.at(-1)?.seq ?? 0;
    if (taken.length + missing !== last - first + 1) unaccounted++;
    packs += taken.length;
  }
  expect({ wrong, unaccounted }).toEqual({ wrong: 0, unaccounted: 0 });
  expect(packs).toBeGreaterThan(0.8 * rounds * perRound);
});

test('a quarter of a gigabyte of noise leaves memory where it was', () => {
  const random = seeded(1);
  const chunk = Uint8Array.from({ length: 65_536 }, () => Math.floor(random() * 256));
  const reader = new WireReader();
  for (let i = 0; i < 500; i++) reader.push(chunk);
  const before = process.memoryUsage().heapUsed;
  for (let i = 0; i < 4000; i++) {
    chunk[i % chunk.length] = Math.floor(random() * 256);
    reader.push(chunk);
  }
  expect(process.memoryUsage().heapUsed - before).toBeLessThan(64 * 1024 * 1024);
  expect(reader.counters.packs).toBe(0);
});
