import { causeOf } from '../core/message/cause.ts';
import {
  closeSync,
  existsSync,
  fsyncSync,
  openSync,
  readdirSync,
  renameSync,
  rmSync,
  statSync,
  writeSync,
} from 'node:fs';
import { createHash } from 'node:crypto';
import { join } from 'node:path';
import type { RunContext } from '../core/job/context.ts';
import type { RunEvent } from '../core/job/event.ts';
import { Problem } from '../core/message/problem.ts';
import { type Channel, channels } from '../core/quantity/channels.ts';
import type { Sample } from '../core/quantity/sample.ts';
import { genesisHash } from '../core/seal/chain.ts';
import { makeFolder } from '../store/make-folder.ts';
import { sha256 } from '../store/rows.ts';
import { eventsOf, lateName } from './agree.ts';
import { type ChainFile, chainLines } from './chain-file.ts';
import { contextOfRun, readContext } from './context-file.ts';
import { csvNumber } from './csv.ts';
import { dataPackage, type WrittenFile } from './data-package.ts';
import { eventColumns, eventRow } from './events-csv.ts';
import { copyNamed, filesNamed } from './run-files.ts';
import { requiredColumns } from './samples-csv.ts';

/**
 * A run to be written as a recording. With `chain` the events are the chain's and `context` its head's; without, the
 * recording proves nothing, and `data` of events is not written. Samples in rising time, rounded to their channels.
 */
export type RunToWrite =
  | {
      readonly chain: ChainFile;
      readonly samples: Iterable<Sample>;
      readonly late?: readonly Sample[];
      /** Folder in which the files lie that the events name. */
      readonly beside?: string;
    }
  | {
      readonly chain?: null;
      readonly context: RunContext;
      readonly samples: Iterable<Sample>;
      readonly late?: readonly Sample[];
      readonly events: readonly RunEvent[];
    };

const ours = ['recording.csv', lateName, 'events.csv', 'context.json', 'chain.jsonl', 'datapackage.json'];

/** Throws Problem unless `folder` is absent, empty, or a recording of the same run. */
export function checkTarget(folder: string, runId: string): void {
  const found = statSync(folder, { throwIfNoEntry: false });
  if (!found) return;
  if (!found.isDirectory()) throw new Problem('recording-folder-taken', { folder, found: 'a file' });
  const names = readdirSync(folder).filter((name) => !name.endsWith('.part'));
  if (names.length === 0) return;
  if (!names.includes('context.json') || !names.includes('recording.csv'))
    throw new Problem('recording-folder-taken', { folder, found: `other files (${names.slice(0, 3).join(', ')})` });
  const other = readContext(join(folder, 'context.json')).context.run_id ?? '';
  if (other !== runId) throw new Problem('recording-folder-taken', { folder, found: `the recording of run ${other}` });
}

/** Writes lines to `<name>.part`, synced; the caller gives it its name when all are whole. */
function writeLines(folder: string, name: string, lines: Iterable<string>): WrittenFile {
  const handle = openSync(join(folder, `${name}.part`), 'w');
  const hash = createHash('sha256');
  let bytes = 0;
  let waiting = '';
  const put = (): void => {
    const part = Buffer.from(waiting, 'utf8');
    hash.update(part);
    for (let at = 0; at < part.length; ) at += writeSync(handle, part, at);
    bytes += part.length;
    waiting = '';
  };
  try {
    for (const line of lines) {
      waiting += `${line}\n`;
      if (waiting.length > 1 << 16) put();
    }
    put();
    fsyncSync(handle);
  } finally {
    closeSync(handle);
  }
  return { name, bytes, sha256: hash.digest('hex') };
}

/** The required columns in their order, then those of the others that hold anything. */
function columnsFor(samples: readonly Sample[]): Channel[] {
  return channels.filter((c) => requiredColumns.includes(c.column) || samples.some((s) => s[c.key] !== null));
}

/** The lines of recording.csv. */
export function* sampleLines(samples: readonly Sample[], columns: readonly Channel[]): Iterable<string> {
  yield ['time_s', ...columns.map((c) => c.column)].join(',');
  for (const sample of samples) {
    let line = csvNumber(sample.timeS);
    for (const { key } of columns) line += `,${csvNumber(sample[key])}`;
    yield line;
  }
}

/** The lines of events.csv. */
export function* eventLines(events: readonly RunEvent[]): Iterable<string> {
  yield eventColumns.join(',');
  for (const event of events) yield eventRow(event);
}

/**
 * Write a recording into `folder` (made if absent). The files get their names only when all are whole on the disk, the
 * data package last. Throws Problem: the folder holds something else, or cannot be written.
 */
export function writeRecording(folder: string, run: RunToWrite): void {
  const context = run.chain ? contextOfRun(run.chain.head) : run.context;
  const events = run.chain ? eventsOf(run.chain) : [...run.events].sort((a, b) => a.timeS - b.timeS);
  const runId = context.run_id ?? '';
  try {
    checkTarget(folder, runId);
    makeFolder(folder);
    const samples = [...run.samples];
    const late = run.late ?? [];
    const columns = columnsFor([...samples, ...late]);
    const files = [
      writeLines(folder, 'recording.csv', sampleLines(samples, columns)),
      ...(late.length > 0 ? [writeLines(folder, lateName, sampleLines(late, columns))] : []),
      writeLines(folder, 'events.csv', eventLines(events)),
      writeLines(folder, 'context.json', [JSON.stringify(context, null, 2)]),
    ];
    if (run.chain) files.push(writeLines(folder, 'chain.jsonl', chainLines(run.chain)));
    if (run.chain && run.beside !== undefined) files.push(...copyNamed(run.beside, folder, filesNamed(events)));
    const last = run.chain?.links.at(-1);
    const end = run.chain && {
      count: run.chain.links.length,
      hash: last?.hash ?? genesisHash(run.chain.head, sha256),
    };
    const title = typeof context['title'] === 'string' ? context['title'] : '';
    const about = { runId, title, startedAt: context.started_at ?? '' };
    const sampleColumns = ['time_s', ...columns.map((c) => c.column)];
    const packed = dataPackage(about, files, sampleColumns, end ?? null);
    writeLines(folder, 'datapackage.json', [JSON.stringify(packed, null, 2)]);
    for (const name of ours) {
      const part = join(folder, `${name}.part`);
      if (existsSync(part)) renameSync(part, join(folder, name));
      else rmSync(join(folder, name), { force: true });
    }
  } catch (error) {
    if (error instanceof Problem || !(error instanceof Error) || !('code' in error)) throw error;
    throw new Problem('recording-not-writable', { folder, detail: causeOf(error) }, { cause: error });
  }
}
