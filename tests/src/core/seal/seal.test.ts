import { createHash } from 'node:crypto';
import { describe, expect, test } from 'vitest';
import {
  fingerprint,
  inFours,
  readKnownKeys,
  sealFileText,
  sealSchema,
  sealText,
} from '../../../../src/core/seal/seal.ts';

const sha256 = (text: string): string => createHash('sha256').update(text).digest('hex');
const hex = (digit: string, count = 64): string => digit.repeat(count);
const seal = sealSchema.parse({
  v: 1,
  alg: 'Ed25519',
  key: hex('a'),
  files: { 'b.csv': hex('1'), 'a.csv': hex('2') },
  head: hex('c'),
  sealed_at: '2026-01-02T03:04:05.000Z',
  sig: hex('d', 128),
});

describe('a seal', () => {
  test('signs all but its signature, keys sorted, without white space', () => {
    expect(sealText(seal)).toBe(
      `{"alg":"Ed25519","files":{"a.csv":"${hex('2')}","b.csv":"${hex('1')}"},"head":"${hex('c')}","key":"${hex('a')}","sealed_at":"2026-01-02T03:04:05.000Z","v":1}`,
    );
    expect(sealFileText(seal)).toBe(`${sealText(seal).replace('"v":1', `"sig":"${hex('d', 128)}","v":1`)}\n`);
  });

  test('signs the mark of simulated water', () => {
    expect(sealText({ ...seal, simulated: true })).toContain('"simulated":true');
  });

  test.each([
    ['capitals', { key: hex('A') }],
    ['another algorithm', { alg: 'RSA' }],
    ['a field of its own', { more: 1 }],
    ['a mark that says "not simulated"', { simulated: false }],
    ['a short signature', { sig: hex('d', 127) }],
  ])('refuses %s', (_, change) => {
    expect(sealSchema.safeParse({ ...seal, ...change }).success).toBe(false);
  });
});

test('a fingerprint is eight groups of four of the hash of the key', () => {
  expect(fingerprint(hex('a'), sha256)).toBe(inFours(sha256(hex('a')).slice(0, 32)));
  expect(fingerprint(hex('a'), sha256)).toMatch(/^([0-9a-f]{4} ){7}[0-9a-f]{4}$/);
});

test('known keys are read whole or by fingerprint; other lines are told', () => {
  const print = fingerprint(hex('b'), sha256);
  const { names, badLines } = readKnownKeys(
    `# ours\n${hex('a')} The blue van\n\n${print}   The red van # new\nhello\n${print.slice(5)}\n`,
    sha256,
  );
  expect([...names]).toEqual([
    [sha256(hex('a')).slice(0, 32), 'The blue van'],
    [print.replaceAll(' ', ''), 'The red van'],
  ]);
  expect(badLines).toEqual([5, 6]);
});
