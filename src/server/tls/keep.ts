import { createPrivateKey, createPublicKey, type KeyObject, X509Certificate } from 'node:crypto';
import { existsSync, mkdirSync, readFileSync, renameSync, writeFileSync } from 'node:fs';
import { isIP } from 'node:net';
import { join } from 'node:path';
import { authorityFromMs, isLocal, makeAuthority, makeCertificate, type Made, pem } from './certificate.ts';

/** What https needs, and what a tablet is told to trust. */
export interface Tls {
  readonly key: string;
  readonly cert: string;
  /** The authority's certificate, DER. */
  readonly authority: Buffer;
  /** SHA-256 of the authority's certificate, as browsers and tablets print it. */
  readonly fingerprint: string;
}

const soonMs = 30 * 86_400_000;

function write(file: string, text: string | Buffer): void {
  writeFileSync(`${file}.new`, text, { mode: 0o600, flush: true });
  renameSync(`${file}.new`, file);
}

function keyText(key: KeyObject): string {
  return String(key.export({ type: 'pkcs8', format: 'pem' }));
}

interface Authority extends Made {
  /** Addresses that it may speak for although they are not private. */
  readonly further: readonly string[];
}

/**
 * The authority of this data folder: made once and kept, so that a tablet trusts it once. A new one is made only when the
 * machine is reached by a new address outside the private ranges, or when the old one runs out or has not yet begun.
 */
function authorityOf(folder: string, host: string, names: readonly string[], nowMs: number): Authority {
  const keyFile = join(folder, 'authority.key');
  const certFile = join(folder, 'authority.crt');
  const furtherFile = join(folder, 'authority.addresses');
  const wanted = names.filter((n) => isIP(n) !== 0 && !isLocal(n));
  if ([keyFile, certFile, furtherFile].every(existsSync)) {
    const known = new X509Certificate(readFileSync(certFile));
    const further = readFileSync(furtherFile, 'utf8').split('\n').filter(Boolean);
    // A clock before that time is wrong: trust is not thrown away for it.
    const isBegun = Date.parse(known.validFrom) <= Math.max(nowMs, authorityFromMs);
    if (isBegun && Date.parse(known.validTo) - nowMs > soonMs && wanted.every((n) => further.includes(n)))
      return { der: known.raw, key: createPrivateKey(readFileSync(keyFile, 'utf8')), further };
  }
  const made = makeAuthority(`Limpid bridge ${host}`, nowMs, wanted);
  write(keyFile, keyText(made.key));
  write(certFile, pem(made.der));
  write(furtherFile, wanted.join('\n'));
  return { ...made, further: wanted };
}

function isGood(
  certificate: X509Certificate,
  authority: X509Certificate,
  names: readonly string[],
  nowMs: number,
): boolean {
  return (
    // One made while the clock was ahead begins when it is trusted nowhere.
    Date.parse(certificate.validFrom) <= nowMs &&
    certificate.verify(authority.publicKey) &&
    Date.parse(certificate.validTo) - nowMs > soonMs &&
    names.every((n) => (isIP(n) === 0 ? certificate.checkHost(n) : certificate.checkIP(n)) !== undefined)
  );
}

/**
 * Key and certificate for https, kept in the folder `tls` of the data folder (mode 0600). The bridge's certificate is made
 * anew when it runs out within a month, was made by a clock that was ahead, or the machine is reached by a new address; the authority stays.
 * @param names Names and addresses of this machine. Throws the system's error when the folder cannot be written.
 */
export function keepTls(dataFolder: string, host: string, names: readonly string[], nowMs: number): Tls {
  const folder = join(dataFolder, 'tls');
  mkdirSync(folder, { recursive: true, mode: 0o700 });
  const made = authorityOf(folder, host, names, nowMs);
  const authority = new X509Certificate(made.der);
  const [keyFile, certFile] = [join(folder, 'bridge.key'), join(folder, 'bridge.crt')];
  const isKept =
    existsSync(keyFile) &&
    existsSync(certFile) &&
    isGood(
      new X509Certificate(readFileSync(certFile)),
      authority,
      names.filter((n) => isLocal(n, made.further)),
      nowMs,
    );
  if (!isKept) {
    const subject = authority.subject.replace(/^CN=/, '');
    const fresh = makeCertificate(
      { key: made.key, publicKey: createPublicKey(made.key), subject, further: made.further },
      names,
      nowMs,
    );
    write(keyFile, keyText(fresh.key));
    write(certFile, pem(fresh.der));
  }
  return {
    key: readFileSync(keyFile, 'utf8'),
    cert: readFileSync(certFile, 'utf8') + pem(made.der),
    authority: made.der,
    fingerprint: authority.fingerprint256,
  };
}
