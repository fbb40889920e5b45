import fc from 'fast-check';
import { expect, test } from 'vitest';
import { decodeLine } from '../../../firmware-bridge/wire/decode.ts';
import { encodePack, textLine } from '../../../firmware-bridge/wire/encode.ts';
import { textBytes } from '../../../firmware-bridge/wire/line-text.ts';
import type { Pack } from '../../../firmware-bridge/wire/pack.ts';
import { messageCodes, say } from '../../../src/core/message/message.ts';
import { anyPack, kit } from './packs.ts';

type Fields = Readonly<Record<string, unknown>>;
const head: readonly Fields[] = [
  { bn: `${kit}_`, n: 'boot', u: 'count', v: 3 },
  { n: 'seq', u: 'count', v: 7 },
  { n: 'up', u: 's', v: 12.5 },
];

function packOf(json: string): Pack {
  const decoded = decodeLine(textBytes(json));
  if (!decoded.ok) throw new Error(say(decoded.reject));
  return decoded.pack;
}

const withRecords = (...records: readonly Fields[]) => packOf(JSON.stringify([...head, ...records]));
const rejectsOf = (...records: readonly Fields[]) => withRecords(...records).rejects.map((r) => r.code);

function refusal(json: unknown): string {
  const decoded = decodeLine(textBytes(typeof json === 'string' ? json : JSON.stringify(json)));
  return decoded.ok ? 'taken' : decoded.reject.code;
}

test('property: what is encoded is decoded to the very same pack', () => {
  fc.assert(
    fc.property(anyPack, (sent) => {
      expect(packOf(encodePack(sent))).toEqual({ ...sent, rejects: [] });
    }),
    { numRuns: 300 },
  );
});

test('property: no bytes make it throw, and each refusal has a sentence', () => {
  fc.assert(
    fc.property(fc.oneof(fc.uint8Array({ maxLength: 200 }), fc.json().map(textBytes)), (bytes) => {
      const decoded = decodeLine(bytes);
      expect(decoded.ok || messageCodes.includes(decoded.reject.code)).toBe(true);
    }),
    { numRuns: 500 },
  );
});

test('units become ours: l/s and m3/s, Pa, S/m', () => {
  expect(withRecords({ n: 'flow', u: 'l/s', v: 0.2 }).values).toEqual({ flowLpm: 12 });
  expect(withRecords({ n: 'flow', u: 'm3/s', v: 0.0002 }).values).toEqual({ flowLpm: 12 });
  expect(withRecords({ n: 'pressure', u: 'Pa', v: 123456 }).values).toEqual({ pressureBar: 1.23456 });
  expect(withRecords({ n: 'conductivity', u: 'S/m', v: 0.0512345678 }).values).toEqual({ conductivityUsCm: 512.346 });
});

test('one bad record costs itself alone', () => {
  const pack = withRecords(
    { n: 'turbidity', u: 'NTU', v: 41.2 },
    { n: 'flow', u: 'l/min', v: 12 },
    { n: 'colour', u: 'NTU', v: 1 },
    { n: 't-return', u: 'Cel', v: 54 },
  );
  expect(pack.values).toEqual({ turbidityNtu: 41.2, returnC: 54 });
  expect(pack.rejects.map((r) => r.code)).toEqual(['wire-unit', 'wire-channel']);
});

test.each([
  ['wrong unit', { n: 'pressure', u: 'bar', v: 1.5 }, 'wire-unit'],
  ['no unit', { n: 'turbidity', v: 5 }, 'wire-unit'],
  ['a unit that objects inherit', { n: 'turbidity', u: 'constructor', v: 5 }, 'wire-unit'],
  ['a text', { n: 'turbidity', u: 'NTU', vs: '5' }, 'wire-number'],
  ['null', { n: 'turbidity', u: 'NTU', v: null }, 'wire-number'],
  ['absurd', { n: 't-return', u: 'Cel', v: 2000 }, 'wire-absurd'],
  ['negative flow', { n: 'flow', u: 'l/s', v: -0.2 }, 'wire-negative-flow'],
  ['unknown channel', { n: 'colour', u: 'NTU', v: 5 }, 'wire-channel'],
  ['a name that objects inherit', { n: 'constructor', u: 'NTU', v: 5 }, 'wire-channel'],
  ['two values', { n: 'turbidity', u: 'NTU', v: 5, vs: 'x' }, 'wire-values'],
  ['a field of the wrong kind', { n: 'turbidity', u: 7, v: 5 }, 'wire-record'],
  ['a raw value in another unit', { n: 'raw-turbidity', u: 'NTU', v: 5 }, 'wire-unit'],
  ['a range without hello', { n: 'lo-turbidity', u: 'NTU', v: 0 }, 'wire-hello-alone'],
  ['a button that is a number', { n: 'pass', v: 1 }, 'wire-type'],
])('%s is refused by its own code, the pack is used', (_what, record, code) => {
  expect(rejectsOf(record)).toEqual([code]);
});

test('the first of two values of a channel is used', () => {
  const pack = withRecords({ n: 'turbidity', u: 'NTU', v: 1 }, { n: 'turbidity', u: 'NTU', v: 2 });
  expect(pack.values).toEqual({ turbidityNtu: 1 });
  expect(pack.rejects.map((r) => r.code)).toEqual(['wire-doubled']);
});

test.each(['nan', 'NaN', '-nan', 'inf', '-Infinity', '1e999'])(
  '%s as C or a sketch prints it costs its record alone',
  (v) => {
    const text = JSON.stringify([...head, { n: 'flow', u: 'l/s', v: 0.2 }]);
    const pack = packOf(`${text.slice(0, -1)},{"n":"turbidity","u":"NTU","v":${v}}]`);
    expect(pack.values).toEqual({ flowLpm: 12 });
    expect(pack.rejects.map((r) => r.code)).toEqual(['wire-number']);
  },
);

test('a bad record keeps its base fields for those behind it', () => {
  const pack = packOf(
    JSON.stringify([
      { bn: `${kit}_`, bu: 'NTU', n: 'turbidity', v: null },
      { n: 'turbidity-out', v: 3 },
      { n: 'boot', u: 'count', v: 1 },
      { n: 'seq', u: 'count', v: 1 },
      { n: 'up', u: 's', v: 1 },
    ]),
  );
  expect(pack.values).toEqual({ turbidityOutNtu: 3 });
});

test.each([
  ['text that is no pack', 'hello', 'wire-not-json'],
  ['a cut line', '[{"bn":"urn:dev:m', 'wire-cut'],
  ['a line without its beginning', '"v":3}]', 'wire-cut'],
  ['an object', {}, 'wire-no-pack'],
  ['an empty list', [], 'wire-no-pack'],
  ['a list of numbers', [1, 2], 'wire-record'],
  ['a base name that is a number', [{ bn: 5, n: 'a', v: 1 }], 'wire-record'],
  ['a later version', [{ ...head[0], bver: 11 }], 'wire-version'],
  ['a field that must be understood', [{ ...head[0], new_: 1 }], 'wire-label'],
  ['no kit', [{ n: 'boot', v: 1 }], 'wire-kit'],
  ['a kit that is no device URN', [{ bn: 'rig1_', n: 'boot', v: 1 }], 'wire-kit'],
  ['two kits', [...head, { bn: 'urn:dev:ow:10e2073a01080063_', n: 'pass', vb: true }], 'wire-kits'],
  ['two times', [...head, { n: 'pass', t: 1, vb: true }], 'wire-times'],
  ['no sequence number', [head[0], head[2]], 'wire-no-identity'],
  ['a fraction as sequence number', [head[0], { n: 'seq', u: 'count', v: 1.5 }, head[2]], 'wire-identity'],
  ['a negative start time', [head[0], head[1], { n: 'up', u: 's', v: -1 }], 'wire-identity'],
  ['milliseconds as seconds', [head[0], head[1], { n: 'up', u: 'ms', v: 5 }], 'wire-identity'],
])('%s refuses the pack', (_what, json, code) => {
  expect(refusal(json)).toBe(code);
});

test('a wrong, short or lower-case check sum is refused, a right one is not', () => {
  const json = JSON.stringify(head);
  const good = Buffer.from(textLine(json)).toString('latin1').trimEnd();
  expect(refusal(good)).toBe('taken');
  expect(refusal(good.replace('12.5', '12.6'))).toBe('wire-crc');
  expect(refusal(`${json}*12`)).toBe('wire-crc-form');
  expect(refusal(`${json}*abcd`)).toBe('wire-crc-form');
});

test('a star inside a text is no check sum', () => {
  expect(withRecords({ n: 'refused', vs: 'rate*10' }).refused).toBe('rate*10');
  expect(withRecords({ n: 'refused', vs: '*' }).refused).toBe('*');
});

test('a pack longer than 1024 bytes is refused, letters beyond ASCII are read', () => {
  expect(refusal([...head, { n: 'refused', vs: 'x'.repeat(1000) }])).toBe('wire-too-long');
  expect(withRecords({ n: 'refused', vs: 'zu schnell: größer als 50 €' }).refused).toBe('zu schnell: größer als 50 €');
});

test("the kit's own clock is kept beside, not used", () => {
  const pack = packOf(JSON.stringify([{ bt: 1.7e9, ...head[0] }, head[1], head[2]]));
  expect(pack.kitClockS).toBe(1.7e9);
  expect(pack.upS).toBe(12.5);
});

test('every sentence of the wire can be said with the figures it is given', () => {
  for (const record of [
    { n: 'flow', u: 'l/s', v: -1 },
    { n: 'flow', u: 'bar', v: 1 },
    { n: 'x', v: 1 },
  ])
    for (const reject of withRecords(record).rejects) expect(say(reject)).not.toMatch(/undefined|\{/);
});
