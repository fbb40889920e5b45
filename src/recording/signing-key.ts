import { causeOf } from '../core/message/cause.ts';
import { createPrivateKey, createPublicKey, generateKeyPairSync, type KeyObject, sign, verify } from 'node:crypto';
import { existsSync, mkdirSync, readdirSync, readFileSync, statSync } from 'node:fs';
import { join } from 'node:path';
import { Problem } from '../core/message/problem.ts';
import { writeWhole } from '../store/whole-file.ts';

/** The key that seals: Ed25519 (RFC 8032), in the data folder, readable by its owner alone. */
export interface SigningKey {
  /** Raw public key, 64 hexadecimal digits. */
  readonly key: string;
  /** Signature over the UTF-8 bytes, 128 hexadecimal digits. */
  sign(text: string): string;
}

const keyName = 'signing-key.pem';
// The fixed beginning of an Ed25519 public key in SubjectPublicKeyInfo form (RFC 8410 section 4); 32 bytes follow.
const spkiPrefix = Buffer.from('302a300506032b6570032100', 'hex');

const folderOf = (data: string): string => join(data, 'keys');

function rawPublic(key: KeyObject): string {
  return createPublicKey(key).export({ format: 'der', type: 'spki' }).subarray(-32).toString('hex');
}

function refuse(path: string, detail: string): never {
  throw new Problem('seal-key-unusable', { path, detail });
}

function load(path: string): SigningKey {
  const { mode } = statSync(path);
  if (process.platform !== 'win32' && (mode & 0o077) !== 0)
    throw new Problem('seal-key-open', { path, mode: (mode & 0o777).toString(8) });
  const secret = read(path);
  return { key: rawPublic(secret), sign: (text) => sign(null, Buffer.from(text, 'utf8'), secret).toString('hex') };
}

function read(path: string): KeyObject {
  let secret: KeyObject;
  try {
    secret = createPrivateKey(readFileSync(path));
  } catch (error) {
    return refuse(path, causeOf(error));
  }
  if (secret.asymmetricKeyType !== 'ed25519') refuse(path, `it is a key for ${secret.asymmetricKeyType}`);
  return secret;
}

function make(path: string): SigningKey {
  const pem = generateKeyPairSync('ed25519').privateKey.export({ format: 'pem', type: 'pkcs8' });
  try {
    writeWhole(path, String(pem), 0o600);
  } catch (error) {
    throw new Problem('seal-key-not-made', { path, detail: causeOf(error) }, { cause: error });
  }
  return load(path);
}

/**
 * The key of this bridge, made at first need. Throws Problem: it can be read by others, is no Ed25519 key, or the folder
 * cannot be written.
 */
export function signingKey(data: string): SigningKey {
  const folder = folderOf(data);
  const path = join(folder, keyName);
  try {
    mkdirSync(folder, { recursive: true, mode: 0o700 });
    // The key itself is looked at, and not whether it can be seen: one that is hidden from this user is no reason for another.
    return statSync(path, { throwIfNoEntry: false }) ? load(path) : make(path);
  } catch (error) {
    if (error instanceof Problem) throw error;
    if (!existsSync(folder)) throw new Problem('seal-key-not-made', { path, detail: causeOf(error) }, { cause: error });
    return refuse(path, causeOf(error));
  }
}

/** A new key from now on; of the old one only the public half is kept, so that its seals are known still. Throws Problem. */
export function rotateKey(data: string): SigningKey {
  const folder = folderOf(data);
  const path = join(folder, keyName);
  if (!existsSync(path)) return signingKey(data);
  // Even where others may have read it: that is when it is to be replaced.
  const old = rawPublic(read(path));
  try {
    writeWhole(join(folder, `${old}.pub`), `${old}\n`);
  } catch (error) {
    throw new Problem('seal-key-not-made', { path, detail: causeOf(error) }, { cause: error });
  }
  return make(path);
}

/** Public keys of this bridge, the one in use included; `[]` when it never sealed anything. */
export function ownKeys(data: string): string[] {
  const folder = folderOf(data);
  if (!existsSync(folder)) return [];
  const old = readdirSync(folder).flatMap((name) => /^([0-9a-f]{64})\.pub$/.exec(name)?.[1] ?? []);
  const path = join(folder, keyName);
  return existsSync(path) ? [...old, ...publicHalf(path)] : old;
}

/** A key that seals nothing any more, for whatever reason, is no reason not to know others. */
function publicHalf(path: string): string[] {
  try {
    return [rawPublic(read(path))];
  } catch (error) {
    if (!(error instanceof Problem)) throw error;
    return [];
  }
}

/** Does this signature over the text's UTF-8 bytes come from the holder of that key? Hexadecimal as in `seal.json`. */
export function isSignedBy(key: string, text: string, signature: string): boolean {
  try {
    const der = Buffer.concat([spkiPrefix, Buffer.from(key, 'hex')]);
    const publicKey = createPublicKey({ key: der, format: 'der', type: 'spki' });
    return verify(null, Buffer.from(text, 'utf8'), publicKey, Buffer.from(signature, 'hex'));
  } catch {
    // Bytes that are no point of the curve sign nothing.
    return false;
  }
}
