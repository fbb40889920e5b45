import { createPublicKey, X509Certificate } from 'node:crypto';
import { mkdtempSync, readFileSync, rmSync, statSync } from 'node:fs';
import { get } from 'node:https';
import { createServer, type Server } from 'node:https';
import { tmpdir } from 'node:os';
import { join } from 'node:path';
import { afterEach, beforeEach, describe, expect, it } from 'vitest';
import { isLocal, makeAuthority, makeCertificate, pem } from '../../../../src/server/tls/certificate.ts';
import { integer, oid, tagged, time } from '../../../../src/server/tls/der.ts';
import { keepTls } from '../../../../src/server/tls/keep.ts';

const dayMs = 86_400_000;
const nowMs = Date.parse('2026-03-01T10:00:00Z');
const names = ['localhost', 'rig.local', '127.0.0.1', '192.168.1.7', '::1'];

let folder = '';
beforeEach(() => {
  folder = mkdtempSync(join(tmpdir(), 'limpid-tls-'));
});
afterEach(() => rmSync(folder, { recursive: true, force: true }));

describe('DER', () => {
  // The example of X.690 8.19.5 (from memory), and RFC 8017's rsaEncryption, as very many certificates hold it.
  it('writes object identifiers as the standard does', () => {
    expect(oid('2.999.3').toString('hex')).toBe('0603883703');
    expect(oid('1.2.840.113549.1.1.1').toString('hex')).toBe('06092a864886f70d010101');
  });

  it('writes whole numbers with a sign bit that is off, and no byte too many', () => {
    expect(integer(Buffer.from([0])).toString('hex')).toBe('020100');
    expect(integer(Buffer.from([0x80])).toString('hex')).toBe('02020080');
    expect(integer(Buffer.from([0, 0, 0x7f])).toString('hex')).toBe('02017f');
  });

  it('writes lengths over 127 in the long form', () => {
    expect(tagged(0x04, Buffer.alloc(128)).subarray(0, 3).toString('hex')).toBe('048180');
    expect(tagged(0x04, Buffer.alloc(300)).subarray(0, 4).toString('hex')).toBe('0482012c');
  });

  it('writes times as RFC 5280 4.1.2.5 has it: two digits of the year until 2049', () => {
    expect(time(Date.parse('2049-12-31T23:59:59Z')).toString()).toContain('491231235959Z');
    expect(time(Date.parse('2050-01-01T00:00:00Z')).toString()).toContain('20500101000000Z');
  });
});

describe("the bridge's own certificate", () => {
  it('is good for local names and private addresses alone', () => {
    for (const name of [
      '10.1.2.3',
      '172.31.0.1',
      '192.168.0.9',
      '169.254.1.1',
      'fd00::2',
      'fe80::1',
      'rig.local',
      'localhost',
    ])
      expect(`${name} ${isLocal(name)}`).toBe(`${name} true`);
    for (const name of ['8.8.8.8', '172.32.0.1', '192.169.0.1', '2001:db8::1', 'example.org', 'local.example.org'])
      expect(`${name} ${isLocal(name)}`).toBe(`${name} false`);
  });

  it('chains to its authority, names what it is for, and lasts no longer than browsers take', () => {
    const authority = makeAuthority('Limpid bridge rig', nowMs);
    const root = new X509Certificate(authority.der);
    const made = makeCertificate(
      { key: authority.key, publicKey: createPublicKey(authority.key), subject: 'Limpid bridge rig' },
      [...names, 'example.org', '8.8.8.8'],
      nowMs,
    );
    const leaf = new X509Certificate(made.der);
    expect(root.ca).toBe(true);
    expect(leaf.ca).toBe(false);
    expect(leaf.verify(root.publicKey)).toBe(true);
    expect(leaf.checkIssued(root)).toBe(true);
    expect(leaf.subjectAltName).not.toMatch(/example|8\.8\.8\.8/);
    expect(leaf.checkIP('192.168.1.7')).toBe('192.168.1.7');
    expect(leaf.checkHost('rig.local')).toBe('rig.local');
    expect(leaf.keyUsage).toEqual(['1.3.6.1.5.5.7.3.1']);
    expect(Date.parse(leaf.validTo) - nowMs).toBeLessThan(398 * dayMs);
  });

  it('is kept with its key for the owner alone, made anew in time, under the same authority', () => {
    const first = keepTls(folder, 'rig', names, nowMs);
    expect(statSync(join(folder, 'tls', 'authority.key')).mode & 0o777).toBe(0o600);
    expect(keepTls(folder, 'rig', names, nowMs + dayMs).cert).toBe(first.cert);
    const later = keepTls(folder, 'rig', names, nowMs + 380 * dayMs);
    expect(later.cert).not.toBe(first.cert);
    expect(later.fingerprint).toBe(first.fingerprint);
    const moved = keepTls(folder, 'rig', [...names, '192.168.1.9'], nowMs + 380 * dayMs);
    expect(moved.cert).not.toBe(later.cert);
    expect(moved.fingerprint).toBe(first.fingerprint);
  });

  it('is made anew when the clock that made it was years ahead, and the authority stays trusted', () => {
    const ahead = keepTls(folder, 'rig', names, nowMs + 5 * 365 * dayMs);
    const right = keepTls(folder, 'rig', names, nowMs);
    expect(Date.parse(new X509Certificate(right.cert).validFrom)).toBeLessThan(nowMs);
    expect(right.fingerprint).toBe(ahead.fingerprint);
    const authority = new X509Certificate(right.authority);
    expect(Date.parse(authority.validFrom)).toBeLessThan(nowMs);
    expect(new X509Certificate(right.cert).verify(authority.publicKey)).toBe(true);
  });

  it('speaks for an address outside the private ranges only when the machine has it', () => {
    const first = keepTls(folder, 'rig', [...names, '203.0.113.5'], nowMs);
    expect(new X509Certificate(first.cert).checkIP('203.0.113.5')).toBe('203.0.113.5');
    expect(readFileSync(join(folder, 'tls', 'authority.addresses'), 'utf8')).toBe('203.0.113.5');
    const second = keepTls(folder, 'rig', [...names, '203.0.113.6'], nowMs);
    expect(second.fingerprint).not.toBe(first.fingerprint);
  });
});

/** What OpenSSL (inside Node) makes of a server with this certificate. */
async function reach(server: Server, ca: string, host: string): Promise<string> {
  const address = server.address();
  const port = typeof address === 'object' && address !== null ? address.port : 0;
  return new Promise((resolve) => {
    get(
      { host: '127.0.0.1', port, ca, servername: '', checkServerIdentity: () => undefined, headers: { host } },
      (r) => {
        r.resume();
        resolve(String(r.statusCode));
      },
    ).on('error', (error) => resolve(error.message));
  });
}

describe('the authority, before OpenSSL', () => {
  it('is believed for what it may speak for, and refused for what it may not', async () => {
    const authority = makeAuthority('Limpid bridge rig', Date.now());
    const of = { key: authority.key, publicKey: createPublicKey(authority.key), subject: 'Limpid bridge rig' };
    const answer = async (leaf: {
      der: Buffer;
      key: { export(o: { type: 'pkcs8'; format: 'pem' }): string | Buffer };
    }) => {
      const server = createServer(
        { key: leaf.key.export({ type: 'pkcs8', format: 'pem' }), cert: pem(leaf.der) },
        (_q, r) => r.end('ok'),
      );
      await new Promise<void>((resolve) => server.listen(0, '127.0.0.1', resolve));
      const said = await reach(server, pem(authority.der), 'x');
      await new Promise((resolve) => server.close(resolve));
      return said;
    };
    expect(await answer(makeCertificate(of, names, Date.now()))).toBe('200');
    // Stolen key: a certificate for a public address, made against the rules, must be worth nothing.
    const stolen = makeCertificate({ ...of, further: ['8.8.8.8'] }, ['8.8.8.8'], Date.now());
    expect(await answer(stolen)).toBe('permitted subtree violation');
  });
});
