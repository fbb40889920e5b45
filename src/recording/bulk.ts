import { causeOf } from '../core/message/cause.ts';
import {
  existsSync,
  mkdirSync,
  mkdtempSync,
  readdirSync,
  readFileSync,
  renameSync,
  rmSync,
  statSync,
  openSync,
  writeFileSync,
  fsyncSync,
  closeSync,
} from 'node:fs';
import { basename, join, relative } from 'node:path';
import { z } from 'zod';
import { say } from '../core/message/message.ts';
import { Problem } from '../core/message/problem.ts';
import { genesisHash } from '../core/seal/chain.ts';
import { sha256 } from '../store/rows.ts';
import type { RunStore, Store } from '../store/store.ts';
import { exportRun } from './export.ts';
import type { Tell } from './import.ts';
import { detailsFile, runFolder } from './run-files.ts';
import { copySealed, sealedFolder, sealOf, takeInSealed } from './sealed.ts';
import { isFile } from './text-file.ts';
import { unzipRecording, zipFolder, zipLimits } from './zip.ts';

/** Where archives are unpacked while they are looked at; inside the data folder, so that they are on the same disk. */
function workFolder(data: string): string {
  const folder = join(data, 'work');
  mkdirSync(folder, { recursive: true });
  return mkdtempSync(join(folder, 'zip-'));
}

/** Take a zipped recording into the store, with its seal. Throws Problem as `unzipRecording` and `takeInSealed` do. */
export function takeInZip(data: string, store: Store, path: string, tell?: Tell): string {
  const folder = workFolder(data);
  try {
    return takeInSealed(data, store, unzipRecording(path, folder, zipLimits), tell);
  } finally {
    rmSync(folder, { recursive: true, force: true });
  }
}

export interface TakenInAll {
  readonly taken: readonly {
    readonly from: string;
    readonly runId: string;
    readonly known: boolean;
    /** What was odd but usable, in sentences. */
    readonly remarks: readonly string[];
  }[];
  readonly refused: readonly { readonly from: string; readonly code: string; readonly why: string }[];
}

/** Folders of recordings lie this deep at most. */
const maxDepth = 5;

/** Every recording of a folder and of the folders in it: folders with a recording.csv, and zips. */
export function findRecordings(folder: string, depth = 0): string[] {
  if (isFile(join(folder, 'recording.csv'))) return [folder];
  if (depth >= maxDepth) return [];
  return readdirSync(folder, { withFileTypes: true })
    .toSorted((a, b) => (a.name < b.name ? -1 : 1))
    .flatMap((entry) => {
      const path = join(folder, entry.name);
      if (entry.isDirectory()) return findRecordings(path, depth + 1);
      return entry.isFile() && /\.zip$/i.test(entry.name) ? [path] : [];
    });
}

/**
 * Take in every recording of a folder. One that cannot be used is told with its reason and hinders none of the others;
 * what the store has already stays as it is. Throws Problem: there is no such folder, or no recording in it.
 * @param tell after each one
 */
export async function takeInAll(
  data: string,
  store: Store,
  folder: string,
  tell: (done: number, total: number, name: string) => void = () => {},
): Promise<TakenInAll> {
  if (!statSync(folder, { throwIfNoEntry: false })?.isDirectory()) throw new Problem('recording-no-folder', { folder });
  const found = findRecordings(folder);
  if (found.length === 0) throw new Problem('recording-nothing-here', { folder });
  const taken: TakenInAll['taken'][number][] = [];
  const refused: TakenInAll['refused'][number][] = [];
  for (const [i, path] of found.entries()) {
    const from = relative(folder, path) || basename(path);
    const before = store.runCount();
    try {
      const remarks: string[] = [];
      const take = isFile(path) ? takeInZip : takeInSealed;
      const runId = take(data, store, path, (remark) => remarks.push(say(remark)));
      taken.push({ from, runId, known: store.runCount() === before, remarks });
    } catch (error) {
      // Only what is wrong with this recording; a full disk or a damaged store ends it all.
      if (!(error instanceof Problem) || error.code.startsWith('store-disk') || error.code === 'store-corrupt')
        throw error;
      refused.push({ from, code: error.code, why: say(error) });
    }
    tell(i + 1, found.length, from);
    // Whoever waits for this thread has a turn between two.
    await new Promise((go) => setImmediate(go));
  }
  return { taken, refused };
}

const endSchema = z.looseObject({
  limpid: z.looseObject({ chain: z.object({ count: z.number(), hash: z.string() }) }),
});

/** True when `folder` holds the record of this run as it stands now: then it need not be written again. */
function isWhole(data: string, folder: string, run: RunStore): boolean {
  const path = join(folder, 'datapackage.json');
  if (!isFile(path)) return false;
  if (sealOf(data, run.head.runId) !== null && !isFile(join(folder, 'seal.json'))) return false;
  try {
    const { chain } = endSchema.parse(JSON.parse(readFileSync(path, 'utf8'))).limpid;
    const last = run.events().at(-1);
    return chain.hash === (last?.hash ?? genesisHash(run.head, sha256));
  } catch {
    return false;
  }
}

/** Name of a run as that of one file or folder, on every system. */
export function fileNameOf(runId: string): string {
  const name = runId
    .replace(/[^A-Za-z0-9._-]+/g, '-')
    .replace(/^[.-]+|[. ]+$/g, '')
    .slice(0, 100);
  // Two ids that look the same afterwards stay apart.
  return name !== '' && name === runId ? name : `${name || 'run'}-${sha256(runId).slice(0, 8)}`;
}

/**
 * The record of a run into a folder: the signed files where it is sealed, else as it stands. Throws Problem.
 * @param withDetails false: without the names of client and place; the copy is still proved
 */
export function exportOne(
  data: string,
  run: RunStore,
  folder: string,
  withDetails = true,
): { readonly sealed: boolean } {
  // Where there is nothing yet, it gets its name when it is whole; a folder that is there may be a disk, and is filled.
  if (existsSync(folder)) return exportInto(data, run, folder, withDetails);
  const part = `${folder}.part`;
  rmSync(part, { recursive: true, force: true });
  const done = exportInto(data, run, part, withDetails);
  renameSync(part, folder);
  return done;
}

function exportInto(data: string, run: RunStore, folder: string, withDetails: boolean): { readonly sealed: boolean } {
  const { runId } = run.head;
  const sealed = sealOf(data, runId) !== null;
  if (sealed) copySealed(sealedFolder(data, runId), folder, runId, withDetails);
  else {
    exportRun(run, folder, runFolder(data, runId));
    if (!withDetails) rmSync(join(folder, detailsFile), { force: true });
  }
  return { sealed };
}

/** The record of a run as one zip file, written whole or not at all. Throws Problem. */
export function exportZip(data: string, run: RunStore, file: string, withDetails = true): void {
  const folder = workFolder(data);
  const part = `${file}.part`;
  try {
    exportOne(data, run, join(folder, 'record'), withDetails);
    const handle = openSync(part, 'w');
    try {
      zipFolder(join(folder, 'record'), (piece) => writeFileSync(handle, piece), `${fileNameOf(run.head.runId)}/`);
      fsyncSync(handle);
    } finally {
      closeSync(handle);
    }
    renameSync(part, file);
  } catch (error) {
    if (error instanceof Problem || !(error instanceof Error) || !('code' in error)) throw error;
    throw new Problem('recording-not-writable', { folder: file, detail: causeOf(error) }, { cause: error });
  } finally {
    rmSync(part, { force: true });
    rmSync(folder, { recursive: true, force: true });
  }
}

export interface ExportedAll {
  readonly written: readonly string[];
  /** There already, and as the run stands now: an export that was cut off goes on. */
  readonly kept: readonly string[];
  readonly refused: readonly { readonly runId: string; readonly why: string }[];
}

/**
 * Every run into a folder of its own. Called again after it was cut off, it goes on where it was. Throws Problem.
 * @param tell after each one; whether it was written just now
 */
export async function exportAll(
  data: string,
  store: Store,
  runIds: readonly string[],
  folder: string,
  tell: (done: number, total: number, runId: string, isNew: boolean) => void = () => {},
  withDetails = true,
): Promise<ExportedAll> {
  mkdirSync(folder, { recursive: true });
  const written: string[] = [];
  const kept: string[] = [];
  const refused: { runId: string; why: string }[] = [];
  for (const [i, runId] of runIds.entries()) {
    const run = store.openRun(runId);
    const target = join(folder, fileNameOf(runId));
    try {
      if (!run) throw new Problem('run.unknown', { runId, known: '' });
      if (existsSync(target) && isWhole(data, target, run)) kept.push(runId);
      else {
        exportOne(data, run, target, withDetails);
        written.push(runId);
      }
    } catch (error) {
      if (!(error instanceof Problem)) throw error;
      refused.push({ runId, why: say(error) });
    }
    tell(i + 1, runIds.length, runId, written.at(-1) === runId);
    await new Promise((go) => setImmediate(go));
  }
  return { written, kept, refused };
}
