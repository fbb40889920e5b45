import { causeOf } from '../core/message/cause.ts';
import { appendFileSync, cpSync, existsSync, mkdirSync, readdirSync, readFileSync, renameSync, rmSync } from 'node:fs';
import { join } from 'node:path';
import { z } from 'zod';
import { type Message, say } from '../core/message/message.ts';
import { Problem } from '../core/message/problem.ts';
import { genesisHash } from '../core/seal/chain.ts';
import { sealEvent, type SealNamed, sealNamed } from '../core/seal/named.ts';
import { fingerprint, readKnownKeys, type Seal, sealFileText, sealText } from '../core/seal/seal.ts';
import { sha256 } from '../store/rows.ts';
import type { RunStore, Store } from '../store/store.ts';
import { writeWhole } from '../store/whole-file.ts';
import { exportRun } from './export.ts';
import { importRecording, type Tell } from './import.ts';
import { otherSeal } from './other-seal.ts';
import { checkSeal, hashFiles, type SealCheck } from './seal-check.ts';
import { ownKeys, signingKey } from './signing-key.ts';
import { copyNamed, detailsFile, filesNamed, runFolder } from './run-files.ts';
import { isFile } from './text-file.ts';
import { verifyRecording } from './verify.ts';
import { checkTarget } from './write.ts';

/** Where the sealed record of a run stands in the data folder: the very files that were signed. */
export function sealedFolder(data: string, runId: string): string {
  // The id of a run from elsewhere may hold anything; as one name it leads nowhere else.
  return join(data, 'sealed', encodeURIComponent(runId).replaceAll('.', '%2E'));
}

/**
 * Where the sealed record is made. It stands from before the entry of the seal until it takes its place, so a sealing that
 * was cut short is told from a sealed record that was taken away.
 */
const makingFolder = (data: string, runId: string): string => `${sealedFolder(data, runId)}.sealing`;

/** What is to be said of a run that was sealed and whose seal is not here; null: it is here, or it was not sealed. */
export function sealNotHere(data: string, run: RunStore | null): Message | null {
  if (!run || sealOf(data, run.head.runId)) return null;
  const last = run.links(run.linkCount() - 1, 1)[0];
  const { runId } = run.head;
  const isCutShort = existsSync(makingFolder(data, runId));
  const gone = otherSeal(last, { state: 'unsigned', fingerprint: '' }, isCutShort ? 'seal-cut-short' : 'seal-not-here');
  return gone && { ...gone, params: { ...gone.params, runId } };
}

/** The seal of a run of this store, or null when it has none. */
export function sealOf(data: string, runId: string): SealCheck | null {
  const folder = sealedFolder(data, runId);
  return isFile(join(folder, 'seal.json')) ? checkSeal(folder) : null;
}

export interface Sealing {
  /** Who hands over: printed, and in the record. */
  readonly by: string;
  /** Paired device, `loopback`, or `bridge`. */
  readonly who: string;
  /** Run-clock seconds. */
  readonly timeS: number;
  /** ISO 8601 UTC. */
  readonly wallAt: string;
}

/**
 * Seal a run: one last event `seal` enters its chain, the record is written out whole, and those files are signed. From
 * then on the store takes nothing more for it. After a crash half way it can be called again; where the key is another by
 * then, a second event `seal` says so. Throws Problem: sealed already, or by somebody else, no reading in it, the key
 * cannot be used, the data folder cannot be written.
 */
export function sealRun(data: string, run: RunStore, sealing: Sealing): Seal {
  const { runId, simulated } = run.head;
  const folder = sealedFolder(data, runId);
  const part = makingFolder(data, runId);
  const known = sealOf(data, runId)?.seal;
  if (known) throw new Problem('seal-already', { runId, at: known.sealed_at });
  if (run.samples()[Symbol.iterator]().next().done) throw new Problem('seal-no-samples', { runId });
  const signer = signingKey(data);
  const print = fingerprint(signer.key, sha256);
  const begun = sealNamed(run.events().at(-1));
  try {
    const signed = begun?.by === sealing.by ? signedWhole(part, run) : null;
    if (signed) {
      rmSync(folder, { recursive: true, force: true });
      renameSync(part, folder);
      return signed;
    }
    const doEnter = needsEntry(begun, { by: sealing.by, key: print }, part, runId);
    mkdirSync(part, { recursive: true });
    if (doEnter) enter(run, sealing, print, begun);
    for (const name of readdirSync(part)) rmSync(join(part, name), { recursive: true });
    exportRun(run, part, runFolder(data, runId));
    const head = run.events().at(-1)?.hash ?? genesisHash(run.head, sha256);
    const open: Omit<Seal, 'sig'> = {
      v: 1,
      alg: 'Ed25519',
      key: signer.key,
      files: hashFiles(part),
      head,
      ...(simulated ? { simulated } : {}),
      sealed_at: sealing.wallAt,
    };
    const seal = { ...open, sig: signer.sign(sealText(open)) };
    writeWhole(join(part, 'seal.json'), sealFileText(seal));
    rmSync(folder, { recursive: true, force: true });
    renameSync(part, folder);
    return seal;
  } catch (error) {
    if (error instanceof Problem || !(error instanceof Error) || !('code' in error)) throw error;
    throw new Problem('recording-not-writable', { folder, detail: causeOf(error) }, { cause: error });
  }
}

/** What a sealing had signed when it was cut short, just before it took its place; whose key it was does not matter then. */
function signedWhole(part: string, run: RunStore): Seal | null {
  if (!existsSync(join(part, 'seal.json'))) return null;
  const { state, seal } = checkSeal(part);
  return state === 'good' && seal?.head === run.events().at(-1)?.hash ? seal : null;
}

/** Whether a sealing needs an entry of its own, or ends the one that was begun. Throws Problem `seal-by-other`. */
function needsEntry(
  begun: SealNamed | null,
  { by, key }: Pick<SealNamed, 'by' | 'key'>,
  part: string,
  runId: string,
): boolean {
  if (!begun) return true;
  // Ended by who began it, after a crash.
  const isSameKey = begun.key === '' || begun.key === key;
  if (isSameKey && (begun.by === '' || begun.by === by)) return false;
  // The key is gone that would end it, and no seal was made with it: a second entry says that there was a first.
  if (!isSameKey && existsSync(part)) return true;
  // It would be a second seal in the place of the first.
  throw new Problem('seal-by-other', { runId, ...begun, own: key });
}

function enter(run: RunStore, { by, who, timeS, wallAt }: Sealing, key: string, before: SealNamed | null): void {
  run.keepSamples();
  const note = before === null ? '' : say({ code: 'seal-first-cut-short', params: { ...before } });
  const data = { by, key, simulated: run.head.simulated };
  const event = { timeS, event: sealEvent, emitter: '', note, data };
  run.appendEvent({ id: `${sealEvent}-${run.events().length}`, event, who, wallAt });
}

/**
 * Copy a sealed record, comments included, into a folder that is absent, empty or a recording of the same run.
 *
 * @param withDetails false leaves out the names of the client and the place; the copy can still be proved
 */
export function copySealed(from: string, to: string, runId: string, withDetails = true): void {
  checkTarget(to, runId);
  try {
    mkdirSync(to, { recursive: true });
    // The seal last: a copy cut short is no sealed record.
    const names = readdirSync(from).filter((name) => name !== 'seal.json');
    rmSync(join(to, 'seal.json'), { force: true });
    for (const name of [...names, 'seal.json']) cpSync(join(from, name), join(to, name), { recursive: true });
    if (!withDetails) rmSync(join(to, detailsFile), { force: true });
  } catch (error) {
    if (error instanceof Problem || !(error instanceof Error) || !('code' in error)) throw error;
    throw new Problem('recording-not-writable', { folder: to, detail: causeOf(error) }, { cause: error });
  }
}

const commentSchema = z.object({ by: z.string(), text: z.string(), written_at: z.string() });
export type SealComment = z.infer<typeof commentSchema>;

/** Put a comment beside a sealed record; the record itself stays as it is. Throws Problem: not sealed, empty. */
export function addComment(data: string, runId: string, comment: SealComment): void {
  const folder = sealedFolder(data, runId);
  if (!isFile(join(folder, 'seal.json'))) throw new Problem('seal-none', { runId });
  if (comment.text.trim() === '') throw new Problem('seal-comment-empty');
  appendFileSync(join(folder, 'comments.jsonl'), `${JSON.stringify(commentSchema.parse(comment))}\n`);
}

/** Comments beside a sealed record, oldest first; lines that are none are left out. */
export function readComments(folder: string): SealComment[] {
  const path = join(folder, 'comments.jsonl');
  if (!isFile(path)) return [];
  return readFileSync(path, 'utf8')
    .split('\n')
    .flatMap((line) => {
      try {
        return commentSchema.safeParse(JSON.parse(line)).data ?? [];
      } catch {
        return [];
      }
    });
}

export const knownKeysName = 'known-keys.txt';

/**
 * Names of trusted keys by fingerprint without blanks: this bridge's own, and those of a file (by default
 * `known-keys.txt` of the data folder, if there). Throws Problem for a line that holds no key.
 */
export function knownKeys(data: string, file?: string): Map<string, string> {
  const names = new Map(ownKeys(data).map((key) => [sha256(key).slice(0, 32), 'this bridge']));
  const path = file ?? join(data, knownKeysName);
  if (file === undefined && !existsSync(path)) return names;
  if (!isFile(path)) throw new Problem('recording-unreadable', { file: path, detail: 'no such file' });
  const read = readKnownKeys(readFileSync(path, 'utf8'), sha256);
  const bad = read.badLines[0];
  if (bad !== undefined) throw new Problem('seal-known-keys', { file: path, line: bad });
  for (const [print, name] of read.names) names.set(print, name);
  return names;
}

/**
 * Take a recording into the store, with its seal where it has one; returns its run's id. Throws Problem as
 * `importRecording` does, and the first fault of a sealed one that is not intact.
 *
 * @param tell what was odd but usable, remark by remark
 */
export function takeInSealed(data: string, store: Store, from: string, tell?: Tell): string {
  const isSealed = isFile(join(from, 'seal.json'));
  const fault = isSealed ? verifyRecording(from).faults[0] : undefined;
  if (fault) throw new Problem(fault.code, fault.params);
  const runId = takeIn(data, store, from, tell);
  const folder = sealedFolder(data, runId);
  if (isFile(join(folder, 'seal.json'))) return runId;
  if (isSealed) copySealed(from, folder, runId);
  const gone = sealNotHere(data, store.openRun(runId));
  if (gone) tell?.(gone);
  return runId;
}

/** Samples, events and the files that they name. */
function takeIn(data: string, store: Store, from: string, tell?: Tell): string {
  const runId = importRecording(store, from, new Date().toISOString(), tell);
  const events = store.openRun(runId)?.events() ?? [];
  copyNamed(from, runFolder(data, runId), filesNamed(events.map((e) => e.event)));
  return runId;
}
