import { chmodSync, mkdirSync, mkdtempSync, rmSync, writeFileSync } from 'node:fs';
import { tmpdir } from 'node:os';
import { join } from 'node:path';
import { afterAll, describe, expect, it } from 'vitest';
import { safetyChecks } from '../../../src/cli/doctor-safe.ts';
import { readConfig } from '../../../src/run/config.ts';

const data = mkdtempSync(join(tmpdir(), 'limpid-safe-'));
afterAll(() => rmSync(data, { recursive: true, force: true }));

const toFix = (flags: Record<string, unknown> = {}, env: Record<string, string> = {}, uid = 1000): string[] =>
  safetyChecks(readConfig({ data, ...flags }, env), uid)
    .filter((c) => c.state === 'fix')
    .map((c) => `${c.id}: ${c.text} ${c.next}`);

describe('what is unsafe in an installation', () => {
  it('is nothing by default', () => {
    expect(toFix()).toEqual([]);
  });

  it('is root', () => {
    expect(toFix({}, {}, 0)).toEqual([expect.stringContaining('user: Limpid runs as root')]);
  });

  it.skipIf(process.platform === 'win32')('is a key or a password that others can read', () => {
    mkdirSync(join(data, 'keys'));
    writeFileSync(join(data, 'keys', 'seal.pem'), 'x', { mode: 0o600 });
    writeFileSync(join(data, 'limpid.json'), '{}', { mode: 0o600 });
    expect(toFix()).toEqual([]);
    chmodSync(join(data, 'keys', 'seal.pem'), 0o644);
    chmodSync(join(data, 'limpid.json'), 0o640);
    const found = toFix();
    expect(found.map((f) => f.split(':')[0])).toEqual(['key', 'settings']);
    for (const f of found) expect(f).toContain('chmod 600');
    chmodSync(join(data, 'keys', 'seal.pem'), 0o600);
    chmodSync(join(data, 'limpid.json'), 0o600);
  });

  it('is a broker that anybody can join, and a login in the clear', () => {
    expect(toFix({ broker: true })).toEqual([expect.stringContaining('any of them can play the kit')]);
    expect(toFix({ broker: true, host: '127.0.0.1' })).toEqual([]);
    expect(toFix({ broker: true }, { LIMPID_MQTT_USER: 'kit', LIMPID_MQTT_PASSWORD: 'p' })).toEqual([]);
    expect(toFix({ mqtt: 'mqtt://192.0.2.7' })).toEqual([expect.stringContaining('Use mqtts:')]);
    expect(toFix({ mqtt: 'mqtts://192.0.2.7' })).toEqual([]);
    expect(toFix({ outbox: 'mqtt://192.0.2.7', rig: 'van-1' })).toEqual([expect.stringContaining('in the clear')]);
    expect(toFix({ outbox: 'mqtts://192.0.2.7', rig: 'van-1' })).toEqual([expect.stringContaining('without a login')]);
    const login = { LIMPID_OUTBOX_USER: 'van-1', LIMPID_OUTBOX_PASSWORD: 'p' };
    expect(toFix({ outbox: 'mqtts://192.0.2.7', rig: 'van-1' }, login)).toEqual([]);
  });
});
