import { z } from 'zod';
import { canonical } from './canonical.ts';
import type { Sha256 } from './chain.ts';

const hash = z.string().regex(/^[0-9a-f]{64}$/, 'expected 64 small hexadecimal digits');

/**
 * `seal.json`: one signature over a run's record. Everything but `sig` is signed, as canonical JSON (RFC 8785), with
 * Ed25519 (RFC 8032). `files` holds the SHA-256 of each file of the recording; `head` is the hash of the chain's last
 * entry, which is printed on the report. Comments stand outside it.
 */
export const sealSchema = z.strictObject({
  v: z.literal(1),
  alg: z.literal('Ed25519'),
  /** The raw public key. */
  key: hash,
  files: z.record(z.string().min(1).max(300), hash),
  head: hash,
  /** Present when the water was simulated: such a record is never sealed as a real one. */
  simulated: z.literal(true).optional(),
  /** ISO 8601 UTC, by the clock of the bridge; no outside witness of the time. */
  sealed_at: z.string().min(20).max(40),
  sig: z.string().regex(/^[0-9a-f]{128}$/, 'expected 128 small hexadecimal digits'),
});
export type Seal = z.infer<typeof sealSchema>;

/** What is signed: the seal without its signature, canonical. */
export function sealText(seal: Omit<Seal, 'sig'>): string {
  const { v, alg, key, files, head, simulated, sealed_at } = seal;
  return canonical({ v, alg, key, files, head, simulated, sealed_at });
}

/** The one way a seal is written, so that any changed byte of the file shows. */
export function sealFileText(seal: Seal): string {
  return `${canonical(seal)}\n`;
}

/**
 * What a person compares: the first 32 hexadecimal digits of the SHA-256 of the public key (written as its 64
 * hexadecimal digits), in fours.
 */
export function fingerprint(key: string, sha256: Sha256): string {
  return inFours(sha256(key).slice(0, 32));
}

/** Long hexadecimal numbers as a person reads them. */
export function inFours(hex: string): string {
  return hex.match(/.{1,4}/g)?.join(' ') ?? '';
}

/**
 * Keys that are trusted, from a text file: one a line, the key (64 hexadecimal digits) or its fingerprint, then a name
 * for people. `#` begins a remark. Returns names by fingerprint without blanks, and the lines that are neither.
 */
export function readKnownKeys(text: string, sha256: Sha256): { names: Map<string, string>; badLines: number[] } {
  const names = new Map<string, string>();
  const badLines: number[] = [];
  for (const [i, raw] of text.split(/\r?\n/).entries()) {
    const line = raw.replace(/#.*/, '').trim();
    if (line === '') continue;
    const found = /^([0-9a-f]{64}|[0-9a-f]{4}(?: ?[0-9a-f]{4}){7})(?:\s+(.*))?$/i.exec(line);
    const digits = found?.[1]?.replaceAll(' ', '').toLowerCase();
    if (digits === undefined) badLines.push(i + 1);
    else names.set(digits.length === 64 ? sha256(digits).slice(0, 32) : digits, found?.[2]?.trim() ?? '');
  }
  return { names, badLines };
}
