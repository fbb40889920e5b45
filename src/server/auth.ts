import { causeOf } from '../core/message/cause.ts';
import { createHash, randomBytes, timingSafeEqual } from 'node:crypto';
import { mkdirSync, readFileSync, renameSync, writeFileSync } from 'node:fs';
import { join } from 'node:path';
import { z } from 'zod';
import { type Message, say } from '../core/message/message.ts';
import { Refused } from './refuse.ts';

/**
 * Who may write. The machine of the bridge itself may; every other device after it gave the pairing code once. Its
 * token is random, and only its SHA-256 is kept (mode 0600), so that it survives a restart and the file gives nothing
 * away. Wrong codes are counted per address, and over all addresses too, because a LAN has addresses to spare.
 */
export interface Auth {
  /** 'loopback', the name of a paired device, or null for one that may only watch. */
  who(address: string, authorization: string | undefined): string | null;
  /** The token for a right code. Throws `Refused` for a wrong one or too many of them. */
  pair(code: string, address: string): string;
}

const fileSchema = z.object({
  v: z.literal(1),
  devices: z.array(z.object({ hash: z.string(), pairedAt: z.string() })),
});
type Device = z.infer<typeof fileSchema>['devices'][number];

const guessWindowMs = 60_000;
const guessesPerAddress = 5;
const guessesInAll = 30;
/** The oldest pairing goes when a new one would exceed this. */
const devicesKept = 50;

const sha256 = (text: string) => createHash('sha256').update(text).digest();

export function isLoopback(address: string): boolean {
  const plain = address.startsWith('::ffff:') ? address.slice(7) : address;
  return plain === '::1' || /^127\.\d+\.\d+\.\d+$/.test(plain);
}

/** Reads what an earlier start kept; a missing or damaged file means that devices pair again, never that writing is open. */
function readDevices(file: string | undefined): Device[] {
  if (file === undefined) return [];
  try {
    const parsed = fileSchema.safeParse(JSON.parse(readFileSync(file, 'utf8')));
    return parsed.success ? parsed.data.devices : [];
  } catch {
    return [];
  }
}

export function createAuth(options: {
  readonly code: string;
  readonly dataFolder?: string | undefined;
  readonly wallMs?: () => number;
  /** A clock that nobody sets: wrong codes are held by it, so that a wall clock set back locks nobody out. */
  readonly monotonicMs?: () => number;
  readonly tell?: (text: string) => void;
}): Auth {
  const wallMs = options.wallMs ?? Date.now;
  const monotonicMs = options.monotonicMs ?? (() => performance.now());
  const file = options.dataFolder === undefined ? undefined : join(options.dataFolder, 'paired.json');
  let devices = readDevices(file);
  const wrong: { address: string; atMs: number }[] = [];

  function keep(): void {
    if (file === undefined || options.dataFolder === undefined) return;
    try {
      mkdirSync(options.dataFolder, { recursive: true });
      writeFileSync(`${file}.new`, JSON.stringify({ v: 1, devices }), { mode: 0o600, flush: true });
      renameSync(`${file}.new`, file);
    } catch (error) {
      const why = causeOf(error);
      const message: Message = { code: 'pairing-not-kept', params: { file, why } };
      options.tell?.(say(message));
    }
  }

  function holdGuesses(address: string): void {
    const now = monotonicMs();
    while (wrong[0] !== undefined && now - wrong[0].atMs > guessWindowMs) wrong.shift();
    const here = wrong.filter((guess) => guess.address === address);
    const oldest = here.length >= guessesPerAddress ? here[0] : wrong.length >= guessesInAll ? wrong[0] : undefined;
    if (oldest === undefined) return;
    const waitS = Math.max(1, Math.ceil((oldest.atMs + guessWindowMs - now) / 1000));
    throw new Refused(429, 'too-many-guesses', { waitS }, waitS);
  }

  return {
    who(address, authorization) {
      if (isLoopback(address)) return 'loopback';
      const token = authorization?.startsWith('Bearer ') ? authorization.slice(7).trim() : '';
      if (token.length < 20 || token.length > 100) return null;
      const hash = sha256(token);
      const device = devices.find((kept) => {
        const known = Buffer.from(kept.hash, 'hex');
        return known.length === hash.length && timingSafeEqual(known, hash);
      });
      return device === undefined ? null : `device-${device.hash.slice(0, 8)}`;
    },
    pair(code, address) {
      holdGuesses(address);
      const typed = sha256(code.replace(/[\s-]/g, '').toUpperCase());
      if (!timingSafeEqual(typed, sha256(options.code.replace(/[\s-]/g, '').toUpperCase()))) {
        wrong.push({ address, atMs: monotonicMs() });
        throw new Refused(403, 'wrong-code');
      }
      const token = randomBytes(24).toString('base64url');
      const pairedAt = new Date(wallMs()).toISOString();
      devices = [...devices.slice(-(devicesKept - 1)), { hash: sha256(token).toString('hex'), pairedAt }];
      keep();
      return token;
    },
  };
}
