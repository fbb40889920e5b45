import { causeOf } from '../core/message/cause.ts';
import { createHash, randomBytes } from 'node:crypto';
import { closeSync, existsSync, fsyncSync, mkdirSync, openSync, readFileSync, renameSync, writeSync } from 'node:fs';
import { basename, dirname, join } from 'node:path';
import { z } from 'zod';
import type { RunEvent } from '../core/job/event.ts';
import { Problem } from '../core/message/problem.ts';
import { canonical } from '../core/seal/canonical.ts';
import { copySynced } from '../store/whole-file.ts';
import type { WrittenFile } from './data-package.ts';
import { isFile } from './text-file.ts';

/**
 * Files that belong to a run beside its tables: photos, and the names of the client and the place. An event of the chain
 * holds the SHA-256 of each, so that a file can be left out or changed only to be missed.
 */
export interface NamedFile {
  /** Within the recording, `files/<name>`. */
  readonly file: string;
  readonly sha256: string;
}

const namePattern = /^files\/[a-z0-9-]{1,80}\.(jpg|png|json)$/;
const namedSchema = z.object({ file: z.string().regex(namePattern), sha256: z.string().regex(/^[0-9a-f]{64}$/) });

/** Largest photo that is taken, bytes. */
export const photoLimitBytes = 8_000_000;

/** Where the client and the place are named: apart, so that a copy can leave them out and still be proved. */
export const detailsFile = 'files/details.json';

/** Where the files of a run stand in the data folder until it is written out; `files/` lies in it. */
export function runFolder(data: string, runId: string): string {
  return join(data, 'beside', encodeURIComponent(runId).replaceAll('.', '%2E'));
}

/** The files that events name, each once; names that lead elsewhere are none. */
export function filesNamed(events: readonly RunEvent[]): NamedFile[] {
  const found = new Map<string, NamedFile>();
  for (const { data } of events) {
    const named = namedSchema.safeParse(data);
    // Of one written anew the last one stands.
    if (named.success) found.set(named.data.file, named.data);
  }
  return [...found.values()];
}

const sha256Of = (bytes: Uint8Array): string => createHash('sha256').update(bytes).digest('hex');

function keep(folder: string, file: string, bytes: Uint8Array): void {
  const path = join(folder, file);
  mkdirSync(dirname(path), { recursive: true });
  const handle = openSync(`${path}.part`, 'w');
  try {
    for (let at = 0; at < bytes.length; ) at += writeSync(handle, bytes, at);
    fsyncSync(handle);
  } finally {
    closeSync(handle);
  }
  renameSync(`${path}.part`, path);
}

const kinds = [
  { type: 'image/jpeg', ending: 'jpg', begins: [0xff, 0xd8, 0xff] },
  { type: 'image/png', ending: 'png', begins: [0x89, 0x50, 0x4e, 0x47, 0x0d, 0x0a, 0x1a, 0x0a] },
] as const;

export interface KeptPhoto extends NamedFile {
  readonly bytes: number;
  readonly type: (typeof kinds)[number]['type'];
}

/**
 * Put a photo beside a run; its name comes from its hash, so that the same photo is kept once. Throws Problem: neither
 * JPEG nor PNG by its first bytes, too large, the data folder cannot be written.
 */
export function keepPhoto(data: string, runId: string, bytes: Uint8Array): KeptPhoto {
  const kind = kinds.find((k) => k.begins.every((byte, i) => bytes[i] === byte));
  if (!kind)
    throw new Problem('photo-kind', { begins: Buffer.from(bytes.subarray(0, 4)).toString('hex') || 'nothing' });
  if (bytes.length > photoLimitBytes)
    throw new Problem('photo-large', { bytes: bytes.length, limitBytes: photoLimitBytes });
  const sha256 = sha256Of(bytes);
  const file = `files/photo-${sha256.slice(0, 16)}.${kind.ending}`;
  const folder = runFolder(data, runId);
  try {
    if (!isFile(join(folder, file))) keep(folder, file, bytes);
  } catch (error) {
    if (!(error instanceof Error)) throw error;
    throw new Problem('recording-not-writable', { folder, detail: causeOf(error) }, { cause: error });
  }
  return { file, sha256, bytes: bytes.length, type: kind.type };
}

const detailsSchema = z.object({ v: z.literal(1), client: z.string(), site: z.string(), salt: z.string() });
export type Details = Pick<z.infer<typeof detailsSchema>, 'client' | 'site'>;

/** Write the names of client and place beside the run. Salted: nobody finds out a name by trying names against the hash. */
export function keepDetails(data: string, runId: string, { client, site }: Details): NamedFile {
  const text = `${canonical({ v: 1, client, site, salt: randomBytes(16).toString('hex') })}\n`;
  const bytes = Buffer.from(text, 'utf8');
  keep(runFolder(data, runId), detailsFile, bytes);
  return { file: detailsFile, sha256: sha256Of(bytes) };
}

/** A file of a run as bytes, or null when it is not there or is not the one that was named. */
export function readNamed(folder: string, { file, sha256 }: NamedFile): Uint8Array | null {
  const path = join(folder, file);
  if (!namePattern.test(file) || !isFile(path)) return null;
  const bytes = readFileSync(path);
  return sha256Of(bytes) === sha256 ? bytes : null;
}

export function readDetails(bytes: Uint8Array): Details | null {
  try {
    return detailsSchema.safeParse(JSON.parse(Buffer.from(bytes).toString('utf8'))).data ?? null;
  } catch {
    return null;
  }
}

/** Copy the named files that are there and whole from one folder to another; what was copied. */
export function copyNamed(from: string, to: string, named: readonly NamedFile[]): WrittenFile[] {
  return named.flatMap((one) => {
    const bytes = readNamed(from, one);
    if (bytes === null) return [];
    const path = join(to, one.file);
    mkdirSync(dirname(path), { recursive: true });
    copySynced(join(from, one.file), path);
    return [{ name: one.file, bytes: bytes.length, sha256: one.sha256 }];
  });
}

/** Hash of a file beside a recording, or null. */
export function hashNamed(folder: string, file: string): WrittenFile | null {
  const path = join(folder, file);
  if (!namePattern.test(file) || !existsSync(path) || !isFile(path)) return null;
  const bytes = readFileSync(path);
  return { name: file, bytes: bytes.length, sha256: sha256Of(bytes) };
}

/** Media type of a named file, by its ending. */
export function typeOf(file: string): string {
  return kinds.find((k) => basename(file).endsWith(`.${k.ending}`))?.type ?? 'application/json';
}
