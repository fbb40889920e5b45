import fc from 'fast-check';
import { expect, test } from 'vitest';
import { encodePack } from '../../../firmware-bridge/wire/encode.ts';
import { isPlainPack } from '../../../firmware-bridge/wire/plain-pack.ts';
import { senmlPackSchema } from '../../../firmware-bridge/wire/senml.ts';
import { anyPack } from './packs.ts';

const label = fc.constantFrom(
  'n',
  'u',
  'v',
  'vs',
  'vb',
  'vd',
  't',
  's',
  'ut',
  'bn',
  'bt',
  'bu',
  'bv',
  'bs',
  'bver',
  'x',
  'x_',
);
const value = fc.oneof(
  fc.string({ maxLength: 5 }),
  fc.double(),
  fc.boolean(),
  fc.constantFrom(null, undefined, Number.NaN, Number.POSITIVE_INFINITY, [], {}),
);
const nearlyRight = fc.record(
  {
    n: fc.string(),
    u: fc.string(),
    v: fc.double(),
    vb: fc.boolean(),
    bn: fc.string(),
    bt: fc.double({ noNaN: true, noDefaultInfinity: true }),
  },
  { requiredKeys: [] },
);
const record = fc.oneof(
  nearlyRight,
  fc.dictionary(label, value, { maxKeys: 3 }),
  fc.constantFrom<unknown>(null, 1, 'a', [], [1]),
);
const anything = fc.oneof(fc.array(record, { maxLength: 3 }), fc.jsonValue(), fc.constant(undefined));

test('property: what the quick look waves through, the schema takes, and unchanged', () => {
  let waved = 0;
  fc.assert(
    fc.property(anything, (json) => {
      if (!isPlainPack(json)) return;
      waved++;
      expect(senmlPackSchema.parse(json)).toEqual(json);
    }),
    { numRuns: 3000 },
  );
  expect(waved).toBeGreaterThan(100);
});

test('property: it waves through every pack of our own kits', () => {
  fc.assert(fc.property(anyPack, (pack) => isPlainPack(JSON.parse(encodePack(pack)))));
});

test('it leaves to the schema what only the schema can judge', () => {
  for (const one of [
    [],
    [{ bver: 10 }],
    [{ n: 'a', new_: 1 }],
    [{ v: Number.POSITIVE_INFINITY }],
    [{ s: 1 }],
    {},
    null,
  ])
    expect(isPlainPack(one)).toBe(false);
});
