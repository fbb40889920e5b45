import { createHash } from 'node:crypto';
import canonicalize from 'canonicalize';
import fc from 'fast-check';
import { describe, expect, test } from 'vitest';
import { canonical } from '../../../../src/core/seal/canonical.ts';

const sha256 = (text: string): string => createHash('sha256').update(text).digest('hex');

describe('canonical JSON', () => {
  // Source: test data of the author of RFC 8785 (github.com/cyberphone/json-canonicalization, testdata), inputs and the
  // SHA-256 of their expected outputs.
  const vectors: [string, string, string][] = [
    [
      'arrays',
      String.raw`[56, {"d": true, "10": null, "1": [ ]}]`,
      '099601b171cafed97c333f8878d68e7f8c8f795412adb34b2fdcf0e7c7beac42',
    ],
    [
      'structures',
      String.raw`{"1": {"f": {"f": "hi","F": 5} ,"\n": 56.0}, "10": { }, "": "empty", "a": { },
        "111": [{"e": "yes", "E": "no"}], "A": { }}`,
      '605f65004ec2db7692522a0852c22f1c989e036d547e88963d1a3143cf3195d5',
    ],
    [
      'values',
      String.raw`{"numbers": [333333333.33333329, 1E30, 4.50, 2e-3, 0.000000000000000000000000001],
        "string": "\u20ac$\u000F\u000aA'\u0042\u0022\u005c\\\"\/", "literals": [null, true, false]}`,
      '2d5e01a318d0f0879ab568c4be289c8b1f64ef8921a53c6277d5e069978baacb',
    ],
    [
      'french',
      String.raw`{"peach": "This sorting order", "péché": "is wrong according to French",
        "pêche": "but canonicalization MUST", "sin": "ignore locale"}`,
      'd99d0ebdcb0033cb858cfa830ae46bc0fb3309413b271f1da828c89901a27ed5',
    ],
    [
      'unicode',
      String.raw`{"Unnormalized Unicode": "A\u030a"}`,
      '0d99aad92a125196ff887876643fd3206786a84ddce2cee52ba4ad256d2381d3',
    ],
    [
      'weird',
      String.raw`{"\u20ac": "Euro Sign", "\r": "Carriage Return", "\u000a": "Newline", "1": "One",
        "\u0080": "Control\u007f", "\ud83d\ude02": "Smiley", "\u00f6": "Latin Small Letter O With Diaeresis",
        "\ufb33": "Hebrew Letter Dalet With Dagesh", "</script>": "Browser Challenge"}`,
      '6af595a9aa80110b964b4de3f82a05fa6ae7423005019bacfa2620dddc4e94d1',
    ],
  ];
  test.each(vectors)('%s', (_, input, hash) => {
    expect(sha256(canonical(JSON.parse(input)))).toBe(hash);
  });

  // Source: RFC 8785, Appendix B (IEEE 754 bits, big end first, and their text).
  const numbers: [string, string][] = [
    ['0000000000000000', '0'],
    ['8000000000000000', '0'],
    ['0000000000000001', '5e-324'],
    ['4340000000000000', '9007199254740992'],
    ['4430000000000000', '295147905179352830000'],
    ['44b52d02c7e14af6', '1e+23'],
    ['444b1ae4d6e2ef50', '1e+21'],
    ['3eb0c6f7a0b5ed8c', '9.999999999999997e-7'],
    ['3eb0c6f7a0b5ed8d', '0.000001'],
    ['41b3de4355555555', '333333333.3333333'],
    ['becbf647612f3696', '-0.0000033333333333333333'],
    ['43143ff3c1cb0959', '1424953923781206.2'],
  ];
  test.each(numbers)('the double %s is %s', (bits, text) => {
    expect(canonical(Buffer.from(bits, 'hex').readDoubleBE())).toBe(text);
  });

  test('what RFC 8785 forbids, and what is no JSON, is an error', () => {
    for (const bad of [Number.NaN, Infinity, 'half \ud83d', { '\udc00': 1 }, undefined, 1n, () => 1, [undefined]])
      expect(() => canonical(bad)).toThrow(RangeError);
  });

  test('any JSON gives the text of an independent library, and reads back equal', () => {
    fc.assert(
      fc.property(fc.jsonValue({ stringUnit: 'grapheme' }), (value) => {
        expect(canonical(value)).toBe(canonicalize(value));
        expect(canonical(JSON.parse(canonical(value)))).toBe(canonical(value));
      }),
    );
  });
});
