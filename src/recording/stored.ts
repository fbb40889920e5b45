import { existsSync } from 'node:fs';
import { basename } from 'node:path';
import type { Message } from '../core/message/message.ts';
import { Problem } from '../core/message/problem.ts';
import { genesisHash } from '../core/seal/chain.ts';
import { type ChainEnd, verifyChain } from '../core/seal/verify.ts';
import { entryNamed, sealEvent } from '../core/seal/named.ts';
import { samplesKept, samplesKeptSchema, sha256 } from '../store/rows.ts';
import type { RunStore, StoredEvent } from '../store/store.ts';
import { otherSeal } from './other-seal.ts';
import { filesNamed, hashNamed, runFolder } from './run-files.ts';
import { checkSeal } from './seal-check.ts';
import { sealedFolder } from './sealed.ts';
import { type RecordingCheck, verifyRecording } from './verify.ts';

/** What can be said of the integrity of a run of the store. */
export interface StoredCheck {
  /** Everything found against the store's own rows and against the sealed record, in words; none: it is as it was kept. */
  readonly faults: readonly Message[];
  /** The files that were signed; null: the run was not sealed. */
  readonly sealed: RecordingCheck | null;
}

/**
 * Hold a run of the store against its chain, and both against the sealed record where there is one. That reads all of
 * its samples and files: once for a report or a look at the run, never for a screen.
 */
export function verifyStored(data: string, run: RunStore): StoredCheck {
  return storedCheck(data, run, verifySealed(sealedFolder(data, run.head.runId)));
}

/** The half of it that needs no store, so that another thread can do it; null: there is no sealed record. */
export function verifySealed(folder: string): RecordingCheck | null {
  if (!existsSync(folder)) return null;
  try {
    return verifyRecording(folder);
  } catch (error) {
    if (!(error instanceof Problem)) throw error;
    const samples = { rows: 0, chained: 0, changed: [] };
    const faults = [{ code: error.code, params: error.params }];
    return { sound: false, chain: null, samples, seal: checkSeal(folder), faults, remarks: [] };
  }
}

/** The other half. */
export function storedCheck(data: string, run: RunStore, sealed: RecordingCheck | null): StoredCheck {
  const inSealed = (sealed?.faults ?? []).map((fault) => ofSealed(basename(sealedFolder(data, run.head.runId)), fault));
  return { faults: [...storeFaults(data, run, sealed), ...inSealed], sealed };
}

/** The same files stand beside the run, so which of them is meant is told with its folder. */
function ofSealed(folder: string, fault: Message): Message {
  const { file } = fault.params;
  return file === undefined ? fault : { ...fault, params: { ...fault.params, file: `sealed/${folder}/${file}` } };
}

function storeFaults(data: string, run: RunStore, sealed: RecordingCheck | null): Message[] {
  const faults: Message[] = [];
  // What cannot be read is a fault like any other; the rest is still looked at.
  const links = readOr(faults, () => run.events());
  if (links) {
    faults.push(...chainFaults(run, links, sealed));
    // A seal that is not here at all may not have come yet: `sealNotHere` tells of it.
    const other = sealed?.seal.seal && otherSeal(links.at(-1), sealed.seal);
    if (other && !sealed.faults.some((f) => f.code === other.code)) faults.push(other);
    readOr(faults, () => sampleFaults(run, links, faults));
    faults.push(...besideFaults(runFolder(data, run.head.runId), links));
  }
  return faults;
}

function readOr<T>(faults: Message[], read: () => T): T | null {
  try {
    return read();
  } catch (error) {
    if (!(error instanceof Problem)) throw error;
    faults.push({ code: error.code, params: error.params });
    return null;
  }
}

function chainFaults(run: RunStore, links: readonly StoredEvent[], sealed: RecordingCheck | null): Message[] {
  const end = sealed && endOf(sealed);
  const verdict = verifyChain(run.head, links, sha256, end ?? undefined);
  if (!verdict.intact)
    return verdict.faults.map(({ kind, index, position, count = 1 }) => ({
      code: 'stored-chain-broken',
      params: { kind, index, count, ...entryNamed(kind, links[position]) },
    }));
  // Of a sealed chain that is broken itself the seal still knows the end.
  const expected = sealed?.seal.seal?.head;
  const found = links.at(-1)?.hash ?? genesisHash(run.head, sha256);
  return expected === undefined || expected === found
    ? []
    : [{ code: 'stored-seal-head', params: { expected, found } }];
}

/** Where the signed chain ends; null where it is no longer the one that was signed. */
function endOf({ chain, seal }: RecordingCheck): ChainEnd | null {
  return chain?.intact && chain.end.hash === seal.seal?.head ? chain.end : null;
}

function sampleFaults(run: RunStore, links: readonly StoredEvent[], faults: Message[]): void {
  const there = new Map(run.chunks().map((kept) => [kept.chunk, kept]));
  for (const { event } of links) {
    const kept = event.event === samplesKept ? samplesKeptSchema.safeParse(event.data).data : undefined;
    if (!kept) continue;
    const { chunk, fromS, toS, count } = kept;
    const row = there.get(chunk);
    there.delete(chunk);
    if (!row) {
      faults.push({ code: 'stored-samples-gone', params: { fromS, toS } });
      continue;
    }
    // Samples are looked up by what stands beside them, so that must be right as well.
    const isPlaced = row.fromS === fromS && row.toS === toS && row.count === count;
    const body = readOr(faults, () => run.chunkBody(chunk));
    if (body && (!isPlaced || sha256(body) !== kept.sha256))
      faults.push({ code: 'stored-samples-changed', params: { fromS, toS } });
  }
  for (const { fromS, toS } of there.values()) faults.push({ code: 'stored-samples-put-in', params: { fromS, toS } });
  const count = run.unchained();
  if (count > 0 && links.at(-1)?.event.event === sealEvent)
    faults.push({ code: 'stored-samples-after-seal', params: { count } });
}

/** A photo that is gone, or names that were left out, the report tells as such. */
function besideFaults(folder: string, links: readonly StoredEvent[]): Message[] {
  return filesNamed(links.map((link) => link.event)).flatMap(({ file, sha256: named }): Message[] => {
    const found = hashNamed(folder, file);
    return found && found.sha256 !== named ? [{ code: 'stored-file-changed', params: { file } }] : [];
  });
}
