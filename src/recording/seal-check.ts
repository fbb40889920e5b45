import { createHash } from 'node:crypto';
import { readdirSync, readFileSync } from 'node:fs';
import { join } from 'node:path';
import type { Message } from '../core/message/message.ts';
import { fingerprint, type Seal, sealFileText, sealSchema, sealText } from '../core/seal/seal.ts';
import { sha256 } from '../store/rows.ts';
import { detailsFile } from './run-files.ts';
import { isSignedBy } from './signing-key.ts';
import { isFile } from './text-file.ts';

/** Beside the seal, never under it. */
export const outsideSeal: ReadonlySet<string> = new Set(['seal.json', 'comments.jsonl']);

export interface SealCheck {
  /** `unsigned`: there is no seal. `good` speaks of signature and bytes; whose key it is, the reader must know. */
  readonly state: 'unsigned' | 'good' | 'broken';
  readonly seal: Seal | null;
  /** Of the key that it names; '' when that cannot be read. */
  readonly fingerprint: string;
  /** What is wrong with the seal itself. */
  readonly faults: readonly Message[];
  /** Sealed files that are not as they were; only told when the seal itself is good. */
  readonly changed: readonly string[];
  readonly gone: readonly string[];
  readonly uncovered: readonly string[];
}

/** Every file of a folder that a seal covers, by its path with `/`, with its SHA-256. */
export function hashFiles(folder: string): Record<string, string> {
  const names = readdirSync(folder, { recursive: true, encoding: 'utf8' })
    .filter((name) => isFile(join(folder, name)))
    .map((name) => name.replaceAll('\\', '/'))
    .filter((name) => !outsideSeal.has(name) && !name.endsWith('.part'));
  return Object.fromEntries(names.sort().map((name) => [name, hashFile(join(folder, name))]));
}

function hashFile(path: string): string {
  return createHash('sha256').update(readFileSync(path)).digest('hex');
}

function broken(fault: Message, found: Seal | null): SealCheck {
  const print = found ? fingerprint(found.key, sha256) : '';
  return { state: 'broken', seal: found, fingerprint: print, faults: [fault], changed: [], gone: [], uncovered: [] };
}

function readSeal(text: string): Seal | string {
  let raw: unknown;
  try {
    raw = JSON.parse(text);
  } catch (error) {
    return error instanceof Error ? error.message.slice(0, 120) : 'no JSON';
  }
  const parsed = sealSchema.safeParse(raw);
  if (!parsed.success) {
    const issue = parsed.error.issues[0];
    return `${issue?.path.join('.') || 'the whole'}: ${issue?.message ?? 'invalid'}`;
  }
  return parsed.data;
}

/** Hold a folder against its `seal.json`, byte for byte. */
export function checkSeal(folder: string): SealCheck {
  const path = join(folder, 'seal.json');
  const none = { seal: null, fingerprint: '', faults: [], changed: [], gone: [], uncovered: [] };
  if (!isFile(path)) return { state: 'unsigned', ...none };
  // Latin-1 keeps every byte apart; UTF-8 would fold bad ones into one.
  const text = readFileSync(path, 'latin1');
  const seal = readSeal(Buffer.from(text, 'latin1').toString('utf8'));
  if (typeof seal === 'string') return broken({ code: 'seal-file-unreadable', params: { detail: seal } }, null);
  if (Buffer.from(sealFileText(seal), 'utf8').toString('latin1') !== text)
    return broken({ code: 'seal-file-unreadable', params: { detail: 'it is not in canonical form' } }, seal);
  const print = fingerprint(seal.key, sha256);
  if (!isSignedBy(seal.key, sealText(seal), seal.sig))
    return broken({ code: 'seal-signature', params: { fingerprint: print } }, seal);
  const found = hashFiles(folder);
  const names = Object.keys(seal.files);
  const changed = names.filter((name) => found[name] !== undefined && found[name] !== seal.files[name]);
  // The names of client and place may be left out of a copy: the chain and the seal hold their hash.
  const gone = names.filter((name) => found[name] === undefined && name !== detailsFile);
  const uncovered = Object.keys(found).filter((name) => seal.files[name] === undefined);
  const state = changed.length + gone.length > 0 ? 'broken' : 'good';
  return { state, seal, fingerprint: print, faults: [], changed, gone, uncovered };
}
