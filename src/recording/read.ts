import { statSync } from 'node:fs';
import { join } from 'node:path';
import { utcOf } from '../core/audit/wall-time.ts';
import type { RunContext } from '../core/job/context.ts';
import type { RunEvent } from '../core/job/event.ts';
import type { Message } from '../core/message/message.ts';
import { Problem } from '../core/message/problem.ts';
import type { Sample } from '../core/quantity/sample.ts';
import { agreement, chainProblem, chunkFaults, chunkMessage, eventsOf, lateName } from './agree.ts';
import { type ChainFile, readChain } from './chain-file.ts';
import { readContext, readJson } from './context-file.ts';
import { dataPackageSchema, type WrittenFile } from './data-package.ts';
import { type EventsFile, readEvents } from './events-csv.ts';
import { detailsFile, filesNamed, hashNamed } from './run-files.ts';
import { readLate, readSamples } from './samples-csv.ts';
import { isFile } from './text-file.ts';

/** A recording, ready for the core. */
export interface Recording {
  readonly context: RunContext;
  /** Time strictly rising. */
  readonly samples: Sample[];
  /** Made at times that had gone by when they came, in the order of coming; no live verdict knew them. */
  readonly late: Sample[];
  /** In time order. The store's own `samples-kept` are not among them. */
  readonly events: RunEvent[];
  /** The record as chained, where the recording is an export of ours; intact and in agreement with the rest. */
  readonly chain: ChainFile | null;
  /** What was odd but usable. */
  readonly remarks: readonly Message[];
}

/** Everything that stands in the folder, read but not yet held against one another. */
export interface Parts {
  readonly folder: string;
  readonly context: RunContext;
  readonly rawContext: unknown;
  readonly samples: Sample[];
  readonly late: Sample[];
  readonly eventsFile: EventsFile | null;
  readonly chain: ChainFile | null;
  readonly dataPackage: { files: Map<string, string>; end: { count: number; hash: string } | null } | null;
  readonly files: readonly WrittenFile[];
  readonly remarks: Message[];
}

const remedies: Readonly<Record<string, string>> = {
  'recording.csv':
    'A recording is a folder that holds recording.csv and context.json; give the folder that holds them.',
  'context.json':
    'It says which emitters there are and how many litres lie between them and the sensor, and without it no verdict can be given. docs/recording.md shows the shortest one.',
};

function checkFolder(folder: string): void {
  const found = statSync(folder, { throwIfNoEntry: false });
  if (!found) throw new Problem('recording-no-folder', { folder });
  if (!found.isDirectory()) throw new Problem('recording-not-a-folder', { folder });
  for (const [name, remedy] of Object.entries(remedies))
    if (!isFile(join(folder, name))) throw new Problem('recording-no-file', { file: join(folder, name), remedy });
}

function readPackage(folder: string, remarks: Message[]): Parts['dataPackage'] {
  const path = join(folder, 'datapackage.json');
  if (!isFile(path)) return null;
  try {
    const { value } = readJson(path, dataPackageSchema);
    const files = value.resources.map((r): [string, string] => [r.path, (r.hash ?? '').replace(/^sha256:/, '')]);
    return { files: new Map(files), end: value.limpid?.chain ?? null };
  } catch (error) {
    if (!(error instanceof Problem)) throw error;
    const { file = 'datapackage.json', detail = error.code } = error.params;
    remarks.push({ code: 'recording-package-invalid', params: { file, detail } });
    return null;
  }
}

const eventsIn = (chain: ChainFile | null): RunEvent[] => (chain?.links ?? []).map((link) => link.event);

/** Reads each file of the folder. Throws Problem for the first that cannot be used. */
export function readParts(folder: string): Parts {
  checkFolder(folder);
  const remarks: Message[] = [];
  const files: WrittenFile[] = [];
  const optional = <T extends { bytes: number; sha256: string }>(name: string, read: (path: string) => T): T | null => {
    const path = join(folder, name);
    if (!isFile(path)) return null;
    const value = read(path);
    files.push({ name, bytes: value.bytes, sha256: value.sha256 });
    return value;
  };
  const contextFile = readContext(join(folder, 'context.json'));
  files.push({ name: 'context.json', bytes: contextFile.bytes, sha256: contextFile.sha256 });
  const started = contextFile.context.started_at ?? '';
  if (started !== '' && utcOf(started) === '')
    remarks.push({ code: 'recording-start-unreadable', params: { file: 'context.json', found: started.slice(0, 80) } });
  const samplesFile = readSamples(join(folder, 'recording.csv'));
  files.push({ name: 'recording.csv', bytes: samplesFile.bytes, sha256: samplesFile.sha256 });
  remarks.push(...samplesFile.remarks);
  const lateFile = optional(lateName, readLate);
  if (lateFile) remarks.push(...lateFile.remarks);
  const eventsFile = optional('events.csv', readEvents);
  const chain = optional('chain.jsonl', readChain);
  if (eventsFile) remarks.push(...eventsFile.remarks);
  else if (!chain) remarks.push({ code: 'recording-no-events', params: { folder } });
  const dataPackage = readPackage(folder, remarks);
  const listed = [...(dataPackage?.files.keys() ?? []), ...filesNamed(eventsIn(chain)).map((n) => n.file)];
  for (const name of new Set(listed)) {
    const found = hashNamed(folder, name);
    if (found) files.push(found);
  }
  return {
    folder,
    context: contextFile.context,
    rawContext: contextFile.raw,
    samples: samplesFile.samples,
    late: lateFile?.samples ?? [],
    eventsFile,
    chain: chain && { head: chain.head, links: chain.links },
    dataPackage,
    files,
    remarks,
  };
}

/** What datapackage.json says of the files, against what they are. */
export function changedFiles(parts: Parts): Message[] {
  const { dataPackage, files } = parts;
  if (!dataPackage) return [];
  return [...dataPackage.files].flatMap(([file, hash]): Message[] => {
    if (file === detailsFile) return [];
    const found = files.find((f) => f.name === file);
    if (found) return hash && hash !== found.sha256 ? [{ code: 'recording-file-changed', params: { file } }] : [];
    return isFile(join(parts.folder, file)) ? [] : [{ code: 'recording-file-gone', params: { file } }];
  });
}

/** What the events say of the files beside them, against what they are. */
export function namedFaults(parts: Parts): { faults: Message[]; remarks: Message[] } {
  const faults: Message[] = [];
  const remarks: Message[] = [];
  for (const { file, sha256 } of filesNamed(eventsIn(parts.chain))) {
    const found = parts.files.find((f) => f.name === file);
    if (found && found.sha256 !== sha256) faults.push({ code: 'recording-file-changed', params: { file } });
    else if (!found && file === detailsFile) remarks.push({ code: 'recording-details-left-out', params: { file } });
    else if (!found) faults.push({ code: 'recording-file-gone', params: { file } });
  }
  return { faults, remarks };
}

function unknownEmitters(parts: Parts): Message[] {
  const ids = new Set(parts.context.emitters.map((e) => e.id));
  const { eventsFile } = parts;
  const remarks: Message[] = [];
  for (const [i, { emitter }] of (eventsFile?.events ?? []).entries()) {
    if (emitter === '' || ids.has(emitter)) continue;
    ids.add(emitter);
    const line = eventsFile?.lines[i] ?? 0;
    remarks.push({ code: 'recording-emitter-unknown', params: { file: 'events.csv', line, found: emitter } });
  }
  return remarks;
}

/**
 * Read a recording from its folder. Tolerant of what other loggers and spreadsheets do, with a remark for each; throws
 * Problem (file, line, column, found, expected, what to do) for what cannot be used: a file or column missing, no
 * number, a time or value that cannot be, a context that does not fit, a chain that is broken or tells another story
 * than events.csv.
 */
export function readRecording(folder: string): Recording {
  return recordingOf(readParts(folder));
}

/** What was read of a recording, as `readRecording` gives it. Throws Problem: the one that it is, or as there. */
export function recordingOf(parts: Parts | Problem): Recording {
  if (parts instanceof Problem) throw parts;
  const { context, samples, late, eventsFile, chain } = parts;
  const remarks = [...parts.remarks, ...unknownEmitters(parts), ...changedFiles(parts)];
  if (!chain) return { context, samples, late, events: eventsFile?.events ?? [], chain, remarks };
  const broken = chainProblem(chain, parts.dataPackage?.end ?? undefined) ?? agreement(parts);
  if (broken) throw broken;
  remarks.push(...chunkFaults(chain, samples, late).map(chunkMessage));
  return { context: chain.head.context, samples, late, events: eventsOf(chain), chain, remarks };
}
