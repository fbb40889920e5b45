import { causeOf } from '../core/message/cause.ts';
import { createHash } from 'node:crypto';
import { existsSync, mkdirSync, readdirSync, readFileSync, renameSync, rmSync, statSync, writeFileSync } from 'node:fs';
import { dirname, join } from 'node:path';
import { z } from 'zod';
import { Problem } from '../core/message/problem.ts';
import { makeFolder } from '../store/make-folder.ts';
import type { Store } from '../store/store.ts';
import { copySynced } from '../store/whole-file.ts';

/** What a backup is, in its own folder: every file by its hash, so that a restore knows that it is whole. */
const manifestSchema = z.object({
  v: z.literal(1),
  /** ISO 8601 UTC. */
  made_at: z.string(),
  runs: z.number(),
  files: z.record(z.string(), z.string().regex(/^[0-9a-f]{64}$/)),
});
type Manifest = z.infer<typeof manifestSchema>;

const manifestName = 'backup.json';
const database = 'limpid.sqlite';

export interface BackupDone {
  readonly files: number;
  readonly bytes: number;
  readonly runs: number;
}

/**
 * Copy a data folder into `to`, which must be absent or empty: the database as SQLite copies it, everything else file by
 * file (sealed records, photos, keys, settings). Whole or not at all. Throws Problem.
 */
export function backUp(store: Store, data: string, to: string, madeAt: string): BackupDone {
  const part = `${to}.part`;
  return onDisk(to, () => {
    refuseTaken(to);
    rmSync(part, { recursive: true, force: true });
    makeFolder(dirname(part));
    mkdirSync(part, { mode: 0o700 });
    store.copyTo(join(part, database));
    for (const name of filesOf(data)) copyInto(join(data, name), join(part, name));
    const files = hashes(part);
    const manifest: Manifest = { v: 1, made_at: madeAt, runs: store.runCount(), files };
    writeFileSync(join(part, manifestName), `${JSON.stringify(manifest, null, 2)}\n`, { flush: true });
    rmSync(to, { recursive: true, force: true });
    renameSync(part, to);
    return { files: Object.keys(files).length, bytes: sizeOf(to), runs: manifest.runs };
  });
}

/**
 * Make the data folder `data` anew from a backup. The folder must be absent or empty, so that nothing is written over.
 * Throws Problem: no backup, a file of it changed or gone, the target taken or not writable.
 */
export function restoreBackup(from: string, data: string): BackupDone {
  const manifest = readManifest(from);
  refuseTaken(data);
  for (const [name, expected] of Object.entries(manifest.files)) {
    const path = join(from, name);
    if (name.split('/').includes('..') || !existsSync(path))
      throw new Problem('backup-file-gone', { folder: from, name });
    if (hashOf(path) !== expected) throw new Problem('backup-file-changed', { folder: from, name });
  }
  const part = `${data}.part`;
  return onDisk(data, () => {
    rmSync(part, { recursive: true, force: true });
    makeFolder(part);
    for (const name of Object.keys(manifest.files)) copyInto(join(from, name), join(part, name));
    rmSync(data, { recursive: true, force: true });
    renameSync(part, data);
    return { files: Object.keys(manifest.files).length, bytes: sizeOf(data), runs: manifest.runs };
  });
}

function readManifest(from: string): Manifest {
  const path = join(from, manifestName);
  if (!existsSync(path)) throw new Problem('backup-none', { folder: from });
  try {
    return manifestSchema.parse(JSON.parse(readFileSync(path, 'utf8')));
  } catch {
    throw new Problem('backup-file-changed', { folder: from, name: manifestName });
  }
}

function refuseTaken(folder: string): void {
  const found = statSync(folder, { throwIfNoEntry: false });
  if (found && (!found.isDirectory() || readdirSync(folder).length > 0)) throw new Problem('backup-taken', { folder });
}

/** Everything of a data folder but the database's own files, copies of it, locks and what is half written. */
function filesOf(data: string): string[] {
  return walk(data).filter(
    (name) =>
      !/^(limpid\.(sqlite|lock)|arrivals\.sqlite)/.test(name) &&
      !name.startsWith('backup/') &&
      !/\.(part|new)(\/|$)/.test(name),
  );
}

function walk(folder: string): string[] {
  return readdirSync(folder, { recursive: true, encoding: 'utf8' })
    .filter((name) => statSync(join(folder, name), { throwIfNoEntry: false })?.isFile())
    .map((name) => name.replaceAll('\\', '/'))
    .sort();
}

/** With its mode: a key stays readable by its owner only. */
function copyInto(from: string, to: string): void {
  makeFolder(dirname(to));
  copySynced(from, to);
}

function hashes(folder: string): Record<string, string> {
  return Object.fromEntries(walk(folder).map((name) => [name, hashOf(join(folder, name))]));
}

function hashOf(path: string): string {
  return createHash('sha256').update(readFileSync(path)).digest('hex');
}

function sizeOf(folder: string): number {
  return walk(folder).reduce((sum, name) => sum + statSync(join(folder, name)).size, 0);
}

function onDisk<T>(folder: string, work: () => T): T {
  try {
    return work();
  } catch (error) {
    try {
      rmSync(`${folder}.part`, { recursive: true, force: true });
    } catch {
      // Nothing could be written there, so nothing is left there.
    }
    if (error instanceof Problem || !(error instanceof Error) || !('code' in error)) throw error;
    throw new Problem('backup-not-writable', { folder, detail: causeOf(error) }, { cause: error });
  }
}
