import { expect, test } from 'vitest';
import { resolvePack, senmlPackSchema, type ResolvedRecord } from '../../../firmware-bridge/wire/senml.ts';
import { thirteenRecords } from './rfc8428.ts';

function resolve(json: unknown, nowUnixS = 1e9): ResolvedRecord[] {
  const records = resolvePack(senmlPackSchema.parse(json), nowUnixS);
  if ('code' in records) throw new Error(records.code);
  return records;
}

function problemOf(json: unknown): string {
  const got = resolvePack(senmlPackSchema.parse(json), 1e9);
  return 'code' in got ? got.code : 'none';
}

// RFC 8428 section 5.1.3, resolved in 5.1.4.
test('thirteen records of one device resolve as RFC 8428 5.1.4 prints them', () => {
  const records = resolve(thirteenRecords);
  expect(records.map((r) => [r.u, r.t, r.v])).toEqual([
    ['%RH', 1320067464, 20],
    ['lon', 1320067464, 24.30621],
    ['lat', 1320067464, 60.07965],
    ['%RH', 1320067524, 20.3],
    ['lon', 1320067524, 24.30622],
    ['lat', 1320067524, 60.07965],
    ['%RH', 1320067584, 20.7],
    ['lon', 1320067584, 24.30623],
    ['lat', 1320067584, 60.07966],
    ['%EL', 1320067614, 98],
    ['%RH', 1320067644, 21.2],
    ['lon', 1320067644, 24.30628],
    ['lat', 1320067644, 60.07967],
  ]);
  expect(new Set(records.map((r) => r.n))).toEqual(new Set(['urn:dev:ow:10e2073a01080063']));
  expect(records.every((r) => r.bver === undefined)).toBe(true);
});

// RFC 8428 section 5.1.2. 1276020076.001 - 5 is not exact in doubles: 1 microsecond of tolerance.
test('voltage and currents resolve in the order of time, with the version that is not the defined one', () => {
  const records = resolve([
    { bn: 'urn:dev:ow:10e2073a0108006:', bt: 1.276020076001e9, bu: 'A', bver: 5, n: 'voltage', u: 'V', v: 120.1 },
    ...[1.2, 1.3, 1.4, 1.5, 1.6, 1.7].map((v, i) => ({ n: 'current', ...(i < 5 && { t: i - 5 }), v })),
  ]);
  const currents = records.filter((r) => r.n === 'urn:dev:ow:10e2073a0108006:current');
  expect(currents.map((r) => r.v)).toEqual([1.2, 1.3, 1.4, 1.5, 1.6, 1.7]);
  for (const [i, r] of currents.entries()) expect(Math.abs(r.t - (1276020071.001 + i))).toBeLessThan(1e-6);
  expect(records[0]?.n).toBe('urn:dev:ow:10e2073a0108006:current');
  expect(records.find((r) => r.u === 'V')?.v).toBe(120.1);
  expect(records.every((r) => r.bver === 5)).toBe(true);
});

// RFC 8428 sections 4.1 and 4.6.
test('base value and base sum add, and a base holds until it is replaced', () => {
  const records = resolve([
    { bn: 'a_', bv: 10, bs: 100, n: 'x', v: 1, s: 2 },
    { n: 'y' },
    { bn: 'b_', bv: 0, n: 'x', v: 3 },
  ]);
  expect(records.map((r) => [r.n, r.v, r.s])).toEqual([
    ['a_x', 11, 102],
    ['a_y', 10, 100],
    ['b_x', 3, 100],
  ]);
});

test('a sum may stand without a value, and a text is not touched by the base value', () => {
  expect(resolve([{ n: 'e', s: 5 }])[0]).toMatchObject({ s: 5 });
  expect(resolve([{ bv: 7, n: 'e', vs: 'on' }])[0]).toMatchObject({ vs: 'on' });
});

// RFC 8428 section 4.5.3: below 2^28 a time is relative to now.
test('times below 2^28 count from now, from there on they are Unix seconds', () => {
  expect(resolve([{ n: 'a', t: -5, v: 1 }], 2e9)[0]?.t).toBe(2e9 - 5);
  expect(resolve([{ n: 'a', t: 2 ** 28 - 1, v: 1 }], 2e9)[0]?.t).toBe(2e9 + 2 ** 28 - 1);
  expect(resolve([{ n: 'a', t: 2 ** 28, v: 1 }], 2e9)[0]?.t).toBe(2 ** 28);
});

test('what the standard forbids is refused by its own code', () => {
  expect(problemOf([{ bver: 11, n: 'a', v: 1 }])).toBe('wire-version');
  expect(problemOf([{ n: 'a', v: 1, must_: 1 }])).toBe('wire-label');
  expect(problemOf([{ n: 'a', v: 1, may: 1 }])).toBe('none');
  expect(problemOf([{ n: '_a', v: 1 }])).toBe('wire-name');
  expect(problemOf([{ n: 'a b', v: 1 }])).toBe('wire-name');
  expect(problemOf([{ v: 1 }])).toBe('wire-name');
  expect(problemOf([{ n: 'a' }])).toBe('wire-values');
  expect(problemOf([{ n: 'a', v: 1, vb: true }])).toBe('wire-values');
  expect(problemOf([{ n: 'a', vd: 'aGk' }])).toBe('none');
  expect(problemOf([{ n: 'a', vd: 'aGk=' }])).toBe('wire-base64');
});
