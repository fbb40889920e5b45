import { encode, Tagged } from 'cborg';
import fc from 'fast-check';
import { describe, expect, test } from 'vitest';
import { decodeCbor, decodePack } from '../../../firmware-bridge/wire/decode.ts';
import { encodePack } from '../../../firmware-bridge/wire/encode.ts';
import { textBytes } from '../../../firmware-bridge/wire/line-text.ts';
import { parsePack } from '../../../firmware-bridge/wire/parse-pack.ts';
import { cborToJson, encodeCbor } from '../../../firmware-bridge/wire/senml-cbor.ts';
import { resolvePack, senmlPackSchema } from '../../../firmware-bridge/wire/senml.ts';
import { anyPack, kit } from './packs.ts';
import { thirteenRecords } from './rfc8428.ts';

const hex = (text: string): Uint8Array => Uint8Array.from(Buffer.from(text, 'hex'));

function jsonOf(body: Uint8Array): unknown {
  const read = cborToJson(body);
  if ('reject' in read) throw new Error(JSON.stringify(read.reject));
  return read.json;
}

// RFC 8428 section 6 prints these bytes for the pack of section 5.1.2.
const published = hex(
  '87a721781b75726e3a6465763a6f773a3130653230373361303130383030363a22fb41d303a15b00106223614120050067766f6c7461676501' +
    '615602fb405e066666666666a3006763757272656e74062402fb3ff3333333333333a3006763757272656e74062302fb3ff4cccccccccccd' +
    'a3006763757272656e74062202fb3ff6666666666666a3006763757272656e74062102f93e00a3006763757272656e74062002fb3ff99999' +
    '9999999aa3006763757272656e74060002fb3ffb333333333333',
);
const publishedJson = [
  { bn: 'urn:dev:ow:10e2073a0108006:', bt: 1.276020076001e9, bu: 'A', bver: 5, n: 'voltage', u: 'V', v: 120.1 },
  ...[1.2, 1.3, 1.4, 1.5, 1.6, 1.7].map((v, i) => ({ n: 'current', t: i - 5, v })),
];

test('the bytes that RFC 8428 section 6 prints are the pack of its section 5.1.2', () => {
  expect(jsonOf(published)).toEqual(publishedJson);
});

test('that pack written by us has the published length, each number in its shortest exact form', () => {
  const bytes = encodeCbor(senmlPackSchema.parse(publishedJson));
  expect(bytes).toHaveLength(published.length);
  expect(jsonOf(bytes)).toEqual(publishedJson);
});

// RFC 8428 section 5.1.3; its size table gives 254 bytes of CBOR, with some numbers longer than they need be.
test('the thirteen records of RFC 8428 5.1.3 resolve alike from JSON and CBOR, in no more than the published bytes', () => {
  const pack = senmlPackSchema.parse(thirteenRecords);
  const cbor = encodeCbor(pack);
  expect(cbor.length).toBeLessThanOrEqual(254);
  const back = senmlPackSchema.parse(jsonOf(cbor));
  expect(back).toEqual(pack);
  expect(resolvePack(back, 0)).toEqual(resolvePack(pack, 0));
  expect(resolvePack(back, 0)).toHaveLength(13);
});

test('whatever a kit may say is the same pack in CBOR as in JSON', () => {
  fc.assert(
    fc.property(anyPack, (pack) => {
      const json = encodePack(pack);
      fc.pre(json.length <= 1024);
      const parsed = parsePack(textBytes(json));
      if ('reject' in parsed) throw new Error(parsed.reject.code);
      const cbor = encodeCbor(parsed.records);
      expect(cbor.length).toBeLessThan(json.length);
      expect(decodeCbor(cbor)).toEqual(decodePack(textBytes(json)));
    }),
  );
});

test('bytes of a data value are base64url without padding in JSON, both ways', () => {
  fc.assert(
    fc.property(fc.uint8Array({ maxLength: 40 }), (vd) => {
      const text = Buffer.from(vd).toString('base64url');
      expect(
        jsonOf(
          encode([
            new Map<number, unknown>([
              [0, 'a'],
              [8, vd],
            ]),
          ]),
        ),
      ).toEqual([{ n: 'a', vd: text }]);
      expect(jsonOf(encodeCbor([{ n: 'a', vd: text }]))).toEqual([{ n: 'a', vd: text }]);
    }),
  );
});

const identity = [
  new Map<number, unknown>([
    [-2, `${kit}_`],
    [0, 'boot'],
    [2, 1],
  ]),
  new Map<number, unknown>([
    [0, 'seq'],
    [2, 2],
  ]),
  new Map<number, unknown>([
    [0, 'up'],
    [2, 3],
  ]),
];
const turbidity = (v: unknown) =>
  new Map<number, unknown>([
    [0, 'turbidity'],
    [1, 'NTU'],
    [2, v],
  ]);

// RFC 8949 section 3.4.4: 273.15 is [-2, 27315] under tag 4.
test('a decimal fraction is the number that it says, exactly', () => {
  expect(jsonOf(hex('81a1 02 c4 82 21 19 6ab3'.replaceAll(' ', '')))).toEqual([{ v: 273.15 }]);
  fc.assert(
    fc.property(fc.integer({ min: -1e9, max: 1e9 }), fc.integer({ min: -12, max: 12 }), (mantissa, exponent) => {
      const decoded = decodeCbor(encode([...identity, turbidity(new Tagged(4, [exponent, mantissa]))]));
      const value = Number(`${mantissa}e${exponent}`);
      if (!decoded.ok) throw new Error(decoded.reject.code);
      const believed = value >= -20 && value <= 20000;
      expect(decoded.pack.rejects.map((reject) => reject.code)).toEqual(believed ? [] : ['wire-absurd']);
      // Rounded to the four decimals of its channel: half a last place off at most.
      const off = Math.abs((decoded.pack.values.turbidityNtu ?? value) - value);
      expect(off).toBeLessThanOrEqual(0.5e-4 + 1e-9);
    }),
    { examples: [[5, -5]] },
  );
});

test('indefinite lengths are read as well (RFC 8428 section 6 allows a stream of records)', () => {
  const records = identity.map((record) => Buffer.from(encode(record)).toString('hex')).join('');
  expect(decodeCbor(hex(`9f${records}ff`))).toEqual(decodeCbor(encode(identity)));
  expect(decodeCbor(hex(`9f${records}ff`)).ok).toBe(true);
});

describe('hostile CBOR is refused, in words', () => {
  const deep = (levels: number) => new Uint8Array(levels).fill(0x81);
  const cases: readonly [string, Uint8Array, string][] = [
    ['nothing', new Uint8Array(), 'wire-not-cbor'],
    ['an array in an array, a thousand deep, that never ends', deep(1024), 'wire-not-cbor'],
    ['an array that claims four thousand million records', hex('9affffffff'), 'wire-not-cbor'],
    ['an array that claims 2^63 records', hex('9b8000000000000000'), 'wire-not-cbor'],
    ['a text that claims 2^53 bytes', hex('81a1007b0020000000000000'), 'wire-not-cbor'],
    ['a map that claims more than there is', hex('81ba00ffffff00'), 'wire-not-cbor'],
    ['a tag that is not ours', hex('81c11a514b67b0'), 'wire-not-cbor'],
    ['a bignum (tag 2)', hex('81a102c249010000000000000000'), 'wire-not-cbor'],
    ['an integer that a double does not hold', hex('81a1021bffffffffffffffff'), 'wire-not-cbor'],
    ['a decimal fraction of texts', hex('81a102c4826161616162'.slice(0, 16)), 'wire-not-cbor'],
    ['a label beyond the table', encode([new Map([[9, 1]])]), 'wire-not-cbor'],
    ['a label twice', hex('81a202010202'), 'wire-not-cbor'],
    [
      'a label once as number and once as text',
      encode([
        new Map<unknown, unknown>([
          [2, 1],
          ['v', 2],
        ]),
      ]),
      'wire-not-cbor',
    ],
    ['a reserved length', hex('811c'), 'wire-not-cbor'],
    ['a break where none belongs', hex('82ff01'), 'wire-not-cbor'],
    ['bytes behind the pack', hex('81a1020100'), 'wire-not-cbor'],
    ['a single number', hex('18ff'), 'wire-not-cbor'],
    ['undefined', hex('81f7'), 'wire-not-cbor'],
    ['an empty pack', hex('80'), 'wire-no-pack'],
    ['a record that is a number', hex('8101'), 'wire-record'],
    ['a name that is a number', encode([new Map([[0, 7]])]), 'wire-no-identity'],
    ['a version as a fraction', encode([new Map([[-1, 1.5]])]), 'wire-record'],
    ['more than a pack may have', new Uint8Array(1025).fill(0x80), 'wire-too-long'],
  ];
  test.each(cases)('%s', (_name, bytes, code) => {
    const decoded = decodeCbor(bytes);
    expect(decoded).toMatchObject({ ok: false, reject: { code } });
  });

  test.each([Number.NaN, Number.POSITIVE_INFINITY, null, 'high'])('a value %s costs its own record alone', (value) => {
    const decoded = decodeCbor(encode([...identity, turbidity(value)]));
    if (!decoded.ok) throw new Error(decoded.reject.code);
    expect(decoded.pack.values).toEqual({});
    expect(decoded.pack.rejects.map((reject) => reject.code)).toEqual(['wire-number']);
  });

  test('any bytes at all give a pack or a reject, never an error', () => {
    const real = encode([...identity, turbidity(41.2)]);
    const noise = fc.uint8Array({ maxLength: 1200 });
    const bent = fc.tuple(fc.nat(real.length - 1), fc.nat(255)).map(([at, byte]) => {
      const bytes = real.slice();
      bytes[at] = byte;
      return bytes;
    });
    fc.assert(
      fc.property(fc.oneof(noise, bent), (bytes) => {
        const decoded = decodeCbor(bytes);
        expect(decoded.ok || decoded.reject.code).toSatisfy(
          (code) => code === true || String(code).startsWith('wire-'),
        );
      }),
      { numRuns: 3000 },
    );
  });
});
