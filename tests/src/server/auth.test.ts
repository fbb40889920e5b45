import { mkdtempSync, readFileSync, rmSync, statSync, writeFileSync } from 'node:fs';
import { tmpdir } from 'node:os';
import { join } from 'node:path';
import { afterEach, beforeEach, describe, expect, it } from 'vitest';
import { createAuth, isLoopback } from '../../../src/server/auth.ts';
import { Refused } from '../../../src/server/refuse.ts';

let folder = '';
beforeEach(() => {
  folder = mkdtempSync(join(tmpdir(), 'limpid-auth-'));
});
afterEach(() => rmSync(folder, { recursive: true, force: true }));

function refusalOf(act: () => unknown): { code: string; status: number } {
  try {
    act();
  } catch (error) {
    if (error instanceof Refused) return { code: error.refusal.code, status: error.status };
    throw error;
  }
  throw new Error('was not refused');
}

describe('pairing', () => {
  it('lets the machine of the bridge write, and no other without a token', () => {
    const auth = createAuth({ code: '123456' });
    for (const address of ['127.0.0.1', '127.9.9.9', '::1', '::ffff:127.0.0.1'])
      expect(auth.who(address, undefined)).toBe('loopback');
    for (const address of ['192.168.1.5', '::ffff:192.168.1.5', 'fe80::1', '128.0.0.1', ''])
      expect(auth.who(address, undefined)).toBeNull();
    expect(isLoopback('127.0.0.1.example.org')).toBe(false);
  });

  it('gives a token for the code, however it is spaced', () => {
    const auth = createAuth({ code: '123456' });
    const token = auth.pair('123 456', '10.0.0.2');
    expect(auth.who('10.0.0.2', `Bearer ${token}`)).toMatch(/^device-[0-9a-f]{8}$/);
    expect(auth.who('10.0.0.2', `Bearer ${token}x`)).toBeNull();
    expect(auth.who('10.0.0.2', `Basic ${token}`)).toBeNull();
  });

  it('keeps pairings over a restart, as hashes only, readable by the owner only', () => {
    const token = createAuth({ code: '1111', dataFolder: folder }).pair('1111', '10.0.0.2');
    const file = join(folder, 'paired.json');
    expect(readFileSync(file, 'utf8')).not.toContain(token);
    expect(statSync(file).mode & 0o777).toBe(0o600);
    const after = createAuth({ code: '2222', dataFolder: folder });
    expect(after.who('10.0.0.2', `Bearer ${token}`)).not.toBeNull();
  });

  it('asks to pair again when the file is damaged, and says so when it cannot be written', () => {
    writeFileSync(join(folder, 'paired.json'), '{"v":1,"devices":[{"hash":7}]}');
    const auth = createAuth({ code: '1111', dataFolder: folder });
    expect(auth.who('10.0.0.2', 'Bearer 00000000000000000000000000000000')).toBeNull();
    const said: string[] = [];
    writeFileSync(join(folder, 'file'), '');
    const blocked = createAuth({ code: '1111', dataFolder: join(folder, 'file'), tell: (text) => said.push(text) });
    const token = blocked.pair('1111', '10.0.0.2');
    expect(blocked.who('10.0.0.2', `Bearer ${token}`)).not.toBeNull();
    expect(said.join()).toContain('could not be kept');
  });

  it('stops guessing after five wrong codes from one address, for a minute, even for the right one', () => {
    let nowMs = 0;
    const auth = createAuth({ code: '123456', monotonicMs: () => nowMs });
    for (let i = 0; i < 5; i += 1)
      expect(refusalOf(() => auth.pair('000000', '10.0.0.9'))).toEqual({ code: 'wrong-code', status: 403 });
    expect(refusalOf(() => auth.pair('123456', '10.0.0.9'))).toEqual({ code: 'too-many-guesses', status: 429 });
    expect(auth.pair('123456', '10.0.0.10')).toBeTypeOf('string');
    nowMs = 60_001;
    expect(auth.pair('123456', '10.0.0.9')).toBeTypeOf('string');
  });

  it('stops guessing from many addresses together', () => {
    const auth = createAuth({ code: '123456', monotonicMs: () => 0 });
    for (let i = 0; i < 30; i += 1) expect(refusalOf(() => auth.pair('0', `10.0.1.${i}`)).code).toBe('wrong-code');
    expect(refusalOf(() => auth.pair('123456', '10.0.2.1')).code).toBe('too-many-guesses');
  });
});
