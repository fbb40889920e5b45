import { randomBytes, scrypt, timingSafeEqual } from 'node:crypto';

/**
 * Passwords as scrypt (RFC 7914) with a salt of their own. N 2^15, r 8, p 3: 32 MiB and about a fifth of a second here;
 * one of the settings that OWASP's password storage sheet lists as equal (from memory).
 */
const log2N = 15;
const r = 8;
const p = 3;
const bytes = 32;

interface Cost {
  readonly log2N: number;
  readonly r: number;
  readonly p: number;
}

function derive(password: string, salt: Buffer, cost: Cost): Promise<Buffer> {
  const options = { N: 2 ** cost.log2N, r: cost.r, p: cost.p, maxmem: 256 * 1024 * 1024 };
  return new Promise((done, failed) => {
    scrypt(password.normalize('NFKC'), salt, bytes, options, (error, key) => (error ? failed(error) : done(key)));
  });
}

/** What is kept of a password: `scrypt$15$8$3$<salt>$<key>`. */
export async function hashPassword(password: string): Promise<string> {
  const salt = randomBytes(16);
  const key = await derive(password, salt, { log2N, r, p });
  return ['scrypt', log2N, r, p, salt.toString('base64url'), key.toString('base64url')].join('$');
}

/** True when the password is the one that was hashed. Takes the same time for a hash that is damaged. */
export async function isPassword(password: string, kept: string): Promise<boolean> {
  const found = /^scrypt\$(\d{1,2})\$(\d{1,2})\$(\d{1,2})\$([\w-]{22})\$([\w-]{43})$/.exec(kept);
  const cost = found ? { log2N: Number(found[1]), r: Number(found[2]), p: Number(found[3]) } : { log2N, r, p };
  const isSane = cost.log2N >= 10 && cost.log2N <= 18 && cost.r >= 1 && cost.r <= 16 && cost.p >= 1 && cost.p <= 8;
  const salt = Buffer.from(found?.[4] ?? 'AAAAAAAAAAAAAAAAAAAAAA', 'base64url');
  const key = await derive(password, salt, isSane ? cost : { log2N, r, p });
  const known = Buffer.from(found?.[5] ?? '', 'base64url');
  return found !== null && isSane && known.length === key.length && timingSafeEqual(known, key);
}
