import fc from 'fast-check';
import { expect, test } from 'vitest';
import { encodeLine, type PackToSend } from '../../../firmware-bridge/wire/encode.ts';
import { textBytes } from '../../../firmware-bridge/wire/line-text.ts';
import { counterSentences } from '../../../firmware-bridge/wire/link-counters.ts';
import type { Decoded } from '../../../firmware-bridge/wire/pack.ts';
import { WireReader } from '../../../firmware-bridge/wire/wire-reader.ts';
import { Refusals, shownLine } from '../../../firmware-bridge/wire/refusals.ts';
import { cutAt, joined } from '../bytes.ts';
import { kit } from './packs.ts';

const line = (seq: number, more: Partial<PackToSend> = {}) =>
  encodeLine({ kit, boot: 1, seq, upS: seq / 10, values: { turbidityNtu: seq % 100 }, ...more });
const seqs = (out: readonly Decoded[]) => out.flatMap((d) => (d.ok ? [d.pack.seq] : []));
const codes = (out: readonly Decoded[]) => out.flatMap((d) => (d.ok ? [] : [d.reject.code]));

/** Feed packs one a chunk; which of them were taken? */
function taken(reader: WireReader, packs: readonly (readonly [seq: number, more?: Partial<PackToSend>])[]): boolean[] {
  return packs.map(([seq, more]) => reader.push(line(seq, more)).length > 0);
}

test('property: however bytes are split, the packs and the counts are the same', () => {
  const bytes = joined([textBytes('ed":3}]*12AB\r\n'), line(0), textBytes('noise\n'), line(1), line(1), line(4)]);
  const whole = new WireReader();
  const expected = whole.push(bytes);
  expect(seqs(expected)).toEqual([0, 1, 4]);
  fc.assert(
    fc.property(fc.array(fc.nat(5000), { maxLength: 20 }), (cuts) => {
      const reader = new WireReader();
      expect(cutAt(bytes, cuts).flatMap((chunk) => reader.push(chunk))).toEqual(expected);
      expect(reader.counters).toEqual(whole.counters);
    }),
  );
});

test('property: whatever noise comes before, every line with a check sum is read', () => {
  const noise = fc.oneof(fc.uint8Array({ maxLength: 400 }), fc.string({ maxLength: 60 }).map(textBytes));
  fc.assert(
    fc.property(noise, (before) => {
      const reader = new WireReader();
      expect(seqs(reader.push(joined([before, line(0), line(1), line(2)])))).toEqual([0, 1, 2]);
    }),
    { numRuns: 300 },
  );
});

test('property: one bit turned over in a line with a check sum never gives a wrong pack, nor costs its neighbours', () => {
  const clean = line(7, { values: { turbidityNtu: 12.5, flowLpm: 11 } });
  // Turning one bit of the star makes it a line end: then the pack is whole, only no longer assured.
  const good = new WireReader().push(clean);
  fc.assert(
    fc.property(fc.nat(clean.length * 8 - 1), (bit) => {
      const bytes = clean.slice();
      bytes[bit >> 3] = (bytes[bit >> 3] ?? 0) ^ (1 << (bit & 7));
      const reader = new WireReader();
      reader.push(textBytes('\n'));
      const out = reader.push(joined([line(6), bytes, line(8)]));
      for (const decoded of out.filter((d) => d.ok && d.pack.seq !== 6 && d.pack.seq !== 8))
        expect([decoded]).toEqual(good);
      expect(seqs(out)).toContain(6);
    }),
    { numRuns: 500 },
  );
});

test('the first partial line after opening is expected; the same line later is a fault', () => {
  const reader = new WireReader();
  expect(reader.push(textBytes('"v":3}]*12AB\n'))).toEqual([]);
  expect(reader.counters).toMatchObject({ firstPartial: 1, badLines: 0 });
  expect(codes(reader.push(textBytes('"v":3}]*12AB\n')))).toEqual(['wire-crc']);
  expect(reader.counters).toMatchObject({ firstPartial: 1, badLines: 1, badCrc: 1 });
  reader.push(textBytes('[{"bn'));
  reader.reset();
  expect(reader.push(textBytes('"v":3}]\n'))).toEqual([]);
  expect(reader.counters).toMatchObject({ firstPartial: 2, badLines: 1 });
});

test('a kit that restarts in the middle of a line loses the remains, not the pack behind them', () => {
  const reader = new WireReader();
  const out = reader.push(
    joined([line(0), line(1).slice(0, 60), line(0, { boot: 2, hello: { firmware: '1.0', rateHz: 10, channels: {} } })]),
  );
  expect(seqs(out)).toEqual([0, 0]);
  expect(codes(out)).toEqual(['wire-crc']);
  expect(reader.counters).toMatchObject({ resynchronised: 1, badLines: 1, restarts: 1, packs: 2 });
});

test('two megabytes without a newline are one bad line', () => {
  const reader = new WireReader();
  reader.push(line(0));
  for (let i = 0; i < 32; i++) expect(reader.push(new Uint8Array(65536).fill(0x41))).toEqual([]);
  const out = reader.push(joined([textBytes('\n'), line(1)]));
  expect(codes(out)).toEqual(['wire-too-long']);
  expect(seqs(out)).toEqual([1]);
  expect(reader.counters).toMatchObject({ tooLong: 1, badLines: 1, gaps: 0 });
});

test('doubled packs are dropped and counted, also when they come late', () => {
  const reader = new WireReader();
  expect(taken(reader, [[1], [2], [2], [3], [2], [1, { late: true }]])).toEqual([
    true,
    true,
    false,
    true,
    false,
    false,
  ]);
  expect(reader.counters).toMatchObject({ packs: 3, duplicates: 3, restarts: 0, missing: 0 });
});

test('gaps are counted, and close again when the kit sends what it had kept', () => {
  const reader = new WireReader();
  taken(reader, [[1], [2], [6]]);
  expect(reader.counters).toMatchObject({ gaps: 1, missing: 3, outOfOrder: 0 });
  expect(taken(reader, [[4, { late: true }], [3, { late: true }], [5], [7], [4, { late: true }]])).toEqual([
    true,
    true,
    true,
    true,
    false,
  ]);
  expect(reader.counters).toMatchObject({ gaps: 1, missing: 0, late: 2, outOfOrder: 1, duplicates: 1 });
});

test('property: any order with any doubling gives each pack once, and nothing missing that came', () => {
  fc.assert(
    fc.property(fc.array(fc.integer({ min: 1, max: 60 }), { minLength: 1, maxLength: 120 }), (order) => {
      const reader = new WireReader();
      const got = order.flatMap((seq) => seqs(reader.push(line(100 + seq, { upS: 50, late: true }))));
      const each = new Set(order.map((seq) => 100 + seq));
      expect(got.length).toBe(each.size);
      expect(new Set(got)).toEqual(each);
      expect(reader.counters.duplicates).toBe(order.length - each.size);
      const first = 100 + (order[0] ?? 0);
      const above = [...each].filter((seq) => seq >= first);
      expect(reader.counters.missing).toBe(Math.max(...above) - first + 1 - above.length);
    }),
  );
});

test('a start is seen by boot', () => {
  const reader = new WireReader();
  expect(taken(reader, [[1], [2], [1, { boot: 2 }], [2, { boot: 2 }]])).toEqual([true, true, true, true]);
  expect(reader.counters).toMatchObject({ restarts: 1, duplicates: 0, gaps: 0 });
});

test('a start of a kit that does not keep boot is seen by up going back', () => {
  const reader = new WireReader();
  const first = Array.from({ length: 200 }, (_, seq): [number] => [seq]);
  taken(reader, first);
  expect(
    taken(reader, [
      [0, { upS: 0.03 }],
      [1, { upS: 0.13 }],
      [2, { upS: 0.23 }],
    ]),
  ).toEqual([true, true, true]);
  expect(reader.counters).toMatchObject({ restarts: 1, duplicates: 0, outOfOrder: 0, packs: 203 });
});

test('a late pack of an earlier start is taken, and is no start', () => {
  const reader = new WireReader();
  taken(reader, [[5], [6], [1, { boot: 2 }], [7, { late: true }], [6, { late: true }], [2, { boot: 2 }]]);
  expect(reader.counters).toMatchObject({ restarts: 1, late: 1, duplicates: 1, packs: 5, gaps: 0 });
});

test('a number gone wrong in a line without check sum does not stop what follows', () => {
  const reader = new WireReader();
  const packs = [1, 2, 4_000_000_000, 3, 4].map((seq, i) =>
    seqs(reader.push(encodeLine({ kit, boot: 1, seq, upS: i / 10 }, { crc: false }))),
  );
  expect(packs.flat()).toEqual([1, 2, 4_000_000_000, 3, 4]);
  expect(reader.counters).toMatchObject({ missing: 0, restarts: 0, sequenceWraps: 2, withoutCrc: 5 });
});

test('a 16-bit sequence number that runs over goes on', () => {
  const reader = new WireReader();
  const at = (seq: number, upS: number) => seqs(reader.push(line(seq, { upS })));
  expect([at(65534, 100), at(65535, 100.1), at(0, 100.2), at(1, 100.3)].flat()).toEqual([65534, 65535, 0, 1]);
  expect(reader.counters).toMatchObject({ sequenceWraps: 1, duplicates: 0, restarts: 0 });
});

test('two kits on one link are told apart', () => {
  const reader = new WireReader();
  const other = 'urn:dev:ow:10e2073a01080063';
  expect(taken(reader, [[1], [1, { kit: other }], [1], [1, { kit: other }]])).toEqual([true, true, false, false]);
});

test('each counter has one sentence', () => {
  expect(Object.keys(counterSentences).sort()).toEqual(Object.keys(new WireReader().counters).sort());
  for (const sentence of Object.values(counterSentences)) expect(sentence).toMatch(/^[A-Z].*\.$/);
});

test('why nothing is read is known by the most frequent refusal and the newest line, until a pack comes', () => {
  const reader = new WireReader();
  expect(reader.refusals.worst()).toBeNull();
  reader.push(textBytes('cut\n'));
  const broken = new TextDecoder().decode(line(1)).replace(/.{4}\r?\n$/, 'FFFF\n');
  for (let i = 0; i < 5; i++) reader.push(textBytes(broken));
  reader.push(textBytes('7.20,0.4,55\n'));
  expect(reader.refusals.worst()).toMatchObject({
    of: { code: 'wire-crc' },
    params: { why: expect.stringMatching(/^A line's check sum was FFFF/), line: '7.20,0.4,55' },
  });
  reader.push(line(9));
  expect(reader.refusals.worst()).toBeNull();
});

test('a message of a kit on the topic of another is the reason told', () => {
  const reader = new WireReader();
  reader.message('limpid/mac:other/senml', line(1).subarray(0, line(1).lastIndexOf(0x2a)));
  reader.message('limpid/mac:other/senml', line(1));
  expect(reader.refusals.worst()?.params.why).toContain('on the topic of urn:dev:mac:other');
});

test('a line is shown cut short, and what is no plain text as dots', () => {
  expect(shownLine(Uint8Array.of(0x41, 0x1b, 0x07, 0xff, 0x42))).toBe('A···B');
  expect(shownLine(textBytes('x'.repeat(1000)))).toHaveLength(61);
  const refusals = new Refusals();
  const bytes = textBytes('first');
  refusals.add({ code: 'wire-cut', params: {} }, bytes);
  bytes.fill(0x30);
  expect(refusals.worst()?.params.line).toBe('first');
});
