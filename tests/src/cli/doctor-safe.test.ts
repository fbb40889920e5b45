import { chmodSync, mkdirSync, mkdtempSync, rmSync, writeFileSync } from 'node:fs';
import { tmpdir } from 'node:os';
import { join } from 'node:path';
import { afterAll, describe, expect, it } from 'vitest';
import type { Check } from '../../../src/cli/check.ts';
import { spaceCheck } from '../../../src/cli/doctor-checks.ts';
import { backupCheck, clockCheck } from '../../../src/cli/doctor-age.ts';
import { certificateChecks } from '../../../src/cli/doctor-files.ts';
import { hubSafetyChecks, safetyChecks } from '../../../src/cli/doctor-safe.ts';
import { readConfig } from '../../../src/run/config.ts';
import { readHubConfig } from '../../../src/run/hub-config.ts';
import { keepTls } from '../../../src/server/tls/keep.ts';
import { openStore } from '../../../src/store/open.ts';

const root = mkdtempSync(join(tmpdir(), 'limpid-safe-'));
const data = join(root, 'data');
mkdirSync(data, { mode: 0o700 });
afterAll(() => rmSync(root, { recursive: true, force: true }));

const said = (checks: readonly Check[]): string[] =>
  checks.filter((c) => c.state === 'fix').map((c) => `${c.id}: ${c.text} ${c.next}`);
const machine = { uid: 1000, addresses: ['192.168.4.7'], brokerFolder: join(root, 'mosquitto') };
const toFix = (
  flags: Record<string, unknown> = {},
  env: Record<string, string> = {},
  more: Partial<typeof machine> = {},
): string[] => said(safetyChecks(readConfig({ data, ...flags }, env), { ...machine, ...more }));
const hubToFix = (flags: Record<string, unknown> = {}, env: Record<string, string> = {}): string[] =>
  said(hubSafetyChecks(readHubConfig({ data, ...flags }, env), machine));
const ids = (found: readonly string[]): string[] => found.map((f) => f.split(':')[0] ?? '');
const login = { LIMPID_MQTT_USER: 'kit', LIMPID_MQTT_PASSWORD: 'mJ8-tTq2-xR' };

describe('what is unsafe in an installation', () => {
  it('is nothing by default', () => {
    expect(toFix()).toEqual([]);
  });

  it('is root', () => {
    expect(toFix({}, {}, { uid: 0 })).toEqual([expect.stringContaining('user: Limpid runs as root')]);
  });

  it.skipIf(process.platform === 'win32')('is a key, a password or a folder that others can read', () => {
    mkdirSync(join(data, 'keys'));
    mkdirSync(join(data, 'tls'));
    const files = [join(data, 'keys', 'seal.pem'), join(data, 'limpid.json'), join(data, 'tls', 'bridge.key')];
    for (const file of files) writeFileSync(file, '{}', { mode: 0o600 });
    expect(toFix()).toEqual([]);
    for (const file of files) chmodSync(file, 0o644);
    chmodSync(data, 0o755);
    const found = toFix();
    expect(ids(found)).toEqual(['key', 'settings', 'folder', 'tls-key']);
    for (const f of found) expect(f).toMatch(/Run: chmod [67]00 \//);
    for (const [i, file] of files.entries()) expect(found[i === 2 ? 3 : i]).toContain(file);
    for (const file of files) rmSync(file);
    chmodSync(data, 0o700);
  });

  it.skipIf(process.platform === 'win32')('is not the folder that Limpid makes by itself', () => {
    const fresh = join(root, 'fresh');
    openStore(fresh).close();
    expect(toFix({ data: fresh })).toEqual([]);
  });

  it('is a broker that anybody can join, and a login in the clear', () => {
    expect(toFix({ broker: true })).toEqual([expect.stringContaining('any of them can play the kit')]);
    expect(toFix({ broker: true, host: '127.0.0.1' })).toEqual([]);
    expect(toFix({ broker: true }, login)).toEqual([]);
    expect(toFix({ mqtt: 'mqtt://192.0.2.7' }, login)).toEqual([expect.stringContaining('Use mqtts:')]);
    expect(toFix({ mqtt: 'mqtts://192.0.2.7' })).toEqual([expect.stringContaining('joined without a login')]);
    expect(toFix({ mqtt: 'mqtts://192.0.2.7' }, login)).toEqual([]);
    expect(toFix({ outbox: 'mqtt://192.0.2.7', rig: 'van-1' })).toEqual([expect.stringContaining('in the clear')]);
    expect(toFix({ outbox: 'mqtts://192.0.2.7', rig: 'van-1' })).toEqual([expect.stringContaining('without a login')]);
    const outbox = { LIMPID_OUTBOX_USER: 'van-1', LIMPID_OUTBOX_PASSWORD: 'mJ8-tTq2-xR' };
    expect(toFix({ outbox: 'mqtts://192.0.2.7', rig: 'van-1' }, outbox)).toEqual([]);
  });

  it.each(['kit', 'password', 'Password1', 'admin!', '12345678', 'limpid2026', 'short'])(
    'is the password "%s"',
    (password) => {
      // What it is stays unsaid: the output goes to whoever helps.
      expect(toFix({ mqtt: 'mqtts://192.0.2.7' }, { ...login, LIMPID_MQTT_PASSWORD: password })).toEqual([
        'password: The password in mqtt_password is one that is soon guessed: the user’s name, a usual word, digits alone, or under 8 letters. Make another, for instance by: openssl rand -base64 18 - and set it at both ends.',
      ]);
    },
  );

  it('is a page that the internet can reach', () => {
    const found = toFix({}, {}, { addresses: ['192.168.4.7', '203.0.113.9'] });
    expect(found).toEqual([expect.stringMatching(/^web: .*203\.0\.113\.9.* Set host to/)]);
    expect(toFix({ host: '192.168.4.7' }, {}, { addresses: ['203.0.113.9'] })).toEqual([]);
    expect(toFix({ host: '203.0.113.9' })).toHaveLength(1);
  });

  it('is a broker of this machine that lets everybody do everything', () => {
    const { brokerFolder } = machine;
    mkdirSync(join(brokerFolder, 'conf.d'), { recursive: true });
    const write = (more: string): void => {
      writeFileSync(join(brokerFolder, 'mosquitto.conf'), 'listener 1883\n');
      writeFileSync(join(brokerFolder, 'conf.d', 'a.conf'), more);
    };
    const here = { mqtt: 'mqtt://127.0.0.1' };
    write('allow_anonymous true\n');
    expect(toFix(here, login)).toEqual([expect.stringContaining('lets everybody in')]);
    write('allow_anonymous false\n');
    expect(toFix(here, login)).toEqual([expect.stringContaining('no acl_file in')]);
    const acl = join(root, 'rights');
    write(`allow_anonymous false\nacl_file ${acl}\n`);
    expect(toFix(here, login)).toEqual([expect.stringContaining(`are not there: ${acl}`)]);
    writeFileSync(acl, '');
    expect(toFix(here, login)).toEqual([]);
    expect(ids(hubToFix({ broker: 'mqtt://127.0.0.1' }, { LIMPID_BROKER_USER: 'hub' }))).toEqual([]);
    rmSync(brokerFolder, { recursive: true });
  });
});

describe('what is unsafe in a hub', () => {
  const hubLogin = { LIMPID_BROKER_USER: 'hub', LIMPID_BROKER_PASSWORD: 'mJ8-tTq2-xR' };
  it('is its broker, its time series, its password and its page in the clear', () => {
    expect(hubToFix({ broker: 'mqtts://192.0.2.7' }, hubLogin)).toEqual([]);
    expect(ids(hubToFix({ broker: 'mqtt://192.0.2.7' }, hubLogin))).toEqual(['hub-broker']);
    expect(ids(hubToFix({ broker: 'mqtts://192.0.2.7' }))).toEqual(['hub-broker']);
    const series = { broker: 'mqtts://192.0.2.7', series: 'http://192.0.2.8:8086' };
    expect(ids(hubToFix(series, hubLogin))).toEqual(['series']);
    expect(hubToFix({ ...series, series: 'http://127.0.0.1:8086' }, hubLogin)).toEqual([]);
    const open = { broker: 'mqtts://192.0.2.7', host: '0.0.0.0' };
    expect(ids(hubToFix(open, hubLogin))).toEqual(['web']);
    expect(hubToFix({ ...open, https: true }, hubLogin)).toEqual([]);
    expect(ids(hubToFix({ broker: 'mqtts://192.0.2.7' }, { ...hubLogin, LIMPID_BROKER_PASSWORD: 'hub' }))).toEqual([
      'password',
    ]);
  });
});

describe('what grows old', () => {
  const now = Date.UTC(2026, 5, 1);
  const day = 86_400_000;

  it('is a backup', () => {
    const made = (at: number): string => {
      const folder = mkdtempSync(join(root, 'backup-'));
      writeFileSync(join(folder, 'backup.json'), JSON.stringify({ made_at: new Date(at).toISOString() }));
      return folder;
    };
    expect(backupCheck([], true, now)).toMatchObject({ state: 'unknown', next: expect.stringContaining('--backup') });
    expect(backupCheck([made(now - 3 * day)], true, now)).toMatchObject({ state: 'ok' });
    expect(backupCheck([made(now - 90 * day), made(now - day)], true, now)).toMatchObject({ state: 'ok' });
    const old = backupCheck([made(now - 90 * day)], true, now);
    expect(old).toMatchObject({ state: 'fix', text: 'The newest backup is 90 days old.' });
    expect(backupCheck([join(root, 'none')], true, now)).toMatchObject({ state: 'fix' });
    const broken = made(now);
    writeFileSync(join(broken, 'backup.json'), '{');
    expect(backupCheck([broken], true, now)).toMatchObject({ state: 'fix' });
  });

  it('is a clock that was never set', () => {
    expect(clockCheck(now, now - day, now - 2 * day)).toMatchObject({ state: 'ok' });
    expect(clockCheck(0, now, 0)).toMatchObject({ state: 'fix', text: expect.stringContaining('1970-01-01 00:00') });
    expect(clockCheck(now, 0, now + 9 * day)).toMatchObject({
      state: 'fix',
      next: expect.stringContaining('timedatectl'),
    });
  });

  it('is a certificate, of https or of the firm', () => {
    const folder = mkdtempSync(join(root, 'tls-'));
    keepTls(folder, 'rig', ['localhost', '192.168.4.7'], now);
    const states = (at: number): string[] =>
      certificateChecks(folder, {}, at)
        .filter((c) => c.state === 'fix')
        .map((c) => c.text);
    expect(states(now)).toEqual([]);
    expect(states(now + 370 * day)).toEqual([
      expect.stringMatching(/bridge\.crt runs out on 2027-06-\d\d, in \d+ days\.$/),
    ]);
    expect(states(now + 400 * day)).toEqual([expect.stringContaining('bridge.crt ran out on')]);
    expect(states(now + 3700 * day)).toHaveLength(2);
    const [given] = certificateChecks(join(root, 'none'), { outbox_ca: 'no certificate' }, now);
    expect(given).toMatchObject({ state: 'unknown', text: expect.stringContaining('outbox_ca') });
  });

  it.skipIf(process.platform !== 'linux')('and a disk grows full', () => {
    expect(spaceCheck('/proc')).toMatchObject({ state: 'fix', text: expect.stringContaining('Only 0 MB free') });
  });
});
