import fc from 'fast-check';
import { describe, expect, test } from 'vitest';
import { channels } from '../../../src/core/quantity/channels.ts';
import { emptySample, type Sample } from '../../../src/core/quantity/sample.ts';
import { decodeChunk, encodeChunk } from '../../../src/store/chunk.ts';

const double = fc.double({ noNaN: true, noDefaultInfinity: true });
const sample = fc.tuple(double, ...channels.map(() => fc.option(double))).map(([timeS, ...values]): Sample => {
  const made = emptySample(timeS);
  for (const [i, c] of channels.entries()) made[c.key] = values[i] ?? null;
  return made;
});

describe('a chunk of samples', () => {
  test('gives back every double bit for bit, -0 and denormals included, and every gap', () => {
    fc.assert(
      fc.property(fc.array(sample, { minLength: 1, maxLength: 20 }), (samples) => {
        // toEqual tells -0 from 0.
        expect(decodeChunk(encodeChunk(samples))).toEqual(samples);
      }),
    );
  });

  test('holds no time and no value that is no number: nobody keeps one', () => {
    const made = (timeS: number, turbidityNtu: number): Uint8Array =>
      encodeChunk([{ ...emptySample(timeS), turbidityNtu }]);
    expect(decodeChunk(made(1, 2))).toHaveLength(1);
    for (const bytes of [made(Number.NaN, 2), made(Infinity, 2), made(1, Infinity), made(1, -Infinity)])
      expect(() => decodeChunk(bytes)).toThrow(RangeError);
  });

  test('is laid out as documented: names, line feed, columns of little-endian doubles, NaN for a gap', () => {
    const samples: Sample[] = [
      { ...emptySample(0.5), turbidityNtu: 1.5, supplyC: null },
      { ...emptySample(1), turbidityNtu: null, supplyC: -2 },
    ];
    const hex = (text: string): string => Buffer.from(text, 'latin1').toString('hex');
    expect(Buffer.from(encodeChunk(samples)).toString('hex')).toBe(
      [
        hex('time_s,turbidity_ntu,supply_c\n'),
        '000000000000e03f',
        '000000000000f03f',
        '000000000000f83f',
        '000000000000f87f',
        '000000000000f87f',
        '00000000000000c0',
      ].join(''),
    );
  });

  test('bytes that are no chunk are an error', () => {
    const bytes = encodeChunk([{ ...emptySample(1), flowLpm: 2 }]);
    expect(() => decodeChunk(bytes.subarray(0, -1))).toThrow(RangeError);
    expect(() => decodeChunk(new Uint8Array(40))).toThrow(RangeError);
    expect(() => decodeChunk(new Uint8Array(Buffer.from('time_s,smell\n0123456789abcdef')))).toThrow(/smell/);
  });
});
