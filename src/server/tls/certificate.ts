import { createHash, generateKeyPairSync, type KeyObject, randomBytes, sign } from 'node:crypto';
import { isIP } from 'node:net';
import { bits, context, integer, octets, oid, sequence, set, tagged, time, utf8, yes } from './der.ts';

/**
 * The bridge's own certificates (X.509 v3, RFC 5280), so that a page in a network without a public name can be reached by
 * https: an authority, which a tablet is told to trust once, and the bridge's certificate under it. The authority may
 * speak for private addresses, local names and the addresses of its own machine only (name constraints), so that trusting
 * it opens nothing else.
 */
export interface Made {
  readonly der: Buffer;
  readonly key: KeyObject;
}

const dayMs = 86_400_000;
const authorityDays = 3650;
/** Browsers take no more than about 13 months from a certificate that serves a page (from memory). */
const bridgeDays = 390;
const ecdsaSha256 = sequence(oid('1.2.840.10045.4.3.2'));

const localDomains = ['localhost', 'local', 'lan', 'internal', 'home.arpa'];
/** Address and mask: private use (RFC 1918), link-local (RFC 3927), loopback, unique local (RFC 4193), IPv6 link-local. */
const privateNets: readonly (readonly [string, number])[] = [
  ['10.0.0.0', 8],
  ['172.16.0.0', 12],
  ['192.168.0.0', 16],
  ['169.254.0.0', 16],
  ['127.0.0.0', 8],
  ['fc00::', 7],
  ['fe80::', 10],
  ['::1', 128],
];

function addressBytes(address: string): Buffer {
  if (isIP(address) === 4) return Buffer.from(address.split('.').map(Number));
  const [head = '', tail = ''] = address.split('::');
  const words = (text: string) => (text === '' ? [] : text.split(':').map((w) => Number.parseInt(w, 16)));
  const before = words(head);
  const after = words(tail);
  const all = [...before, ...new Array<number>(8 - before.length - after.length).fill(0), ...after];
  return Buffer.from(all.flatMap((w) => [w >> 8, w & 0xff]));
}

function maskBytes(length: number, prefix: number): Buffer {
  return Buffer.from(Array.from({ length }, (_, i) => 0xff & (0xff00 >> Math.min(8, Math.max(0, prefix - 8 * i)))));
}

/**
 * May the authority speak for this name or address?
 * @param further Addresses that it may speak for beside the private ones.
 */
export function isLocal(name: string, further: readonly string[] = []): boolean {
  if (further.includes(name)) return true;
  if (isIP(name) === 0) return localDomains.some((d) => name === d || name.endsWith(`.${d}`));
  const bytes = addressBytes(name);
  return privateNets.some(([net, prefix]) => {
    const base = addressBytes(net);
    if (base.length !== bytes.length) return false;
    const mask = maskBytes(base.length, prefix);
    return bytes.every((b, i) => (b & (mask[i] ?? 0)) === (base[i] ?? 0));
  });
}

const name = (text: string): Buffer => sequence(set(sequence(oid('2.5.4.3'), utf8(text))));

const extension = (id: string, critical: boolean, value: Uint8Array): Buffer =>
  sequence(oid(id), ...(critical ? [yes] : []), octets(value));

function constraints(further: readonly string[]): Buffer {
  const domains = localDomains.map((d) => context(2, Buffer.from(d), false));
  const own = further.map((address) => [address, isIP(address) === 4 ? 32 : 128] as const);
  const nets = [...privateNets, ...own].map(([net, prefix]) => {
    const base = addressBytes(net);
    return context(7, Buffer.concat([base, maskBytes(base.length, prefix)]), false);
  });
  const permitted = [...domains, ...nets].map((general) => sequence(general));
  return sequence(context(0, Buffer.concat(permitted), true));
}

function keyId(key: KeyObject): Buffer {
  return createHash('sha256')
    .update(key.export({ type: 'spki', format: 'der' }))
    .digest()
    .subarray(0, 20);
}

/** What is made while the clock is years ahead must be good when it is right again. */
export const authorityFromMs = Date.UTC(2020, 0, 1);

interface Body {
  readonly subject: string;
  readonly issuer: string;
  readonly publicKey: KeyObject;
  readonly fromMs: number;
  readonly toMs: number;
  readonly extensions: readonly Buffer[];
}

function signed(body: Body, signer: KeyObject): Buffer {
  const serial = randomBytes(16);
  serial[0] = ((serial[0] ?? 0) & 0x7f) | 0x40;
  const tbs = sequence(
    context(0, integer(Buffer.from([2])), true),
    integer(serial),
    ecdsaSha256,
    name(body.issuer),
    sequence(time(body.fromMs), time(body.toMs)),
    name(body.subject),
    body.publicKey.export({ type: 'spki', format: 'der' }),
    context(3, sequence(...body.extensions), true),
  );
  return sequence(tbs, ecdsaSha256, bits(sign('sha256', tbs, signer)));
}

/** @param further Addresses of this machine that are not private. */
export function makeAuthority(subject: string, nowMs: number, further: readonly string[] = []): Made {
  const { publicKey, privateKey } = generateKeyPairSync('ec', { namedCurve: 'P-256' });
  const extensions = [
    extension('2.5.29.19', true, sequence(yes, integer(Buffer.from([0])))),
    // keyCertSign alone.
    extension('2.5.29.15', true, bits(Buffer.from([0b0000_0100]), 2)),
    extension('2.5.29.14', false, octets(keyId(publicKey))),
    extension('2.5.29.30', true, constraints(further)),
  ];
  const [fromMs, toMs] = [Math.min(authorityFromMs, nowMs), nowMs + authorityDays * dayMs];
  const body = { subject, issuer: subject, publicKey, fromMs, toMs, extensions };
  return { der: signed(body, privateKey), key: privateKey };
}

/** @param names Names and addresses by which the bridge is reached; those that the authority may not speak for are left out. */
export function makeCertificate(
  authority: {
    readonly key: KeyObject;
    readonly publicKey: KeyObject;
    readonly subject: string;
    readonly further?: readonly string[];
  },
  names: readonly string[],
  nowMs: number,
): Made {
  const { publicKey, privateKey } = generateKeyPairSync('ec', { namedCurve: 'P-256' });
  const general = names
    .filter((n) => isLocal(n, authority.further))
    .map((n) => (isIP(n) === 0 ? context(2, Buffer.from(n), false) : context(7, addressBytes(n), false)));
  const extensions = [
    extension('2.5.29.19', true, sequence()),
    // digitalSignature.
    extension('2.5.29.15', true, bits(Buffer.from([0b1000_0000]), 7)),
    extension('2.5.29.37', false, sequence(oid('1.3.6.1.5.5.7.3.1'))),
    extension('2.5.29.14', false, octets(keyId(publicKey))),
    extension('2.5.29.35', false, sequence(tagged(0x80, keyId(authority.publicKey)))),
    extension('2.5.29.17', false, sequence(...general)),
  ];
  // An hour back: the clock of a tablet may be behind.
  const [fromMs, toMs] = [nowMs - 3_600_000, nowMs + bridgeDays * dayMs];
  const body = { subject: 'Limpid bridge', issuer: authority.subject, publicKey, fromMs, toMs, extensions };
  return { der: signed(body, authority.key), key: privateKey };
}

export function pem(der: Uint8Array): string {
  const lines =
    Buffer.from(der)
      .toString('base64')
      .match(/.{1,64}/g) ?? [];
  return `-----BEGIN CERTIFICATE-----\n${lines.join('\n')}\n-----END CERTIFICATE-----\n`;
}
