import { readFileSync } from 'node:fs';
import { join } from 'node:path';
import type { Message } from '../core/message/message.ts';
import type { Problem } from '../core/message/problem.ts';
import { type Channel, channels } from '../core/quantity/channels.ts';
import { genesisHash } from '../core/seal/chain.ts';
import { verifyChain } from '../core/seal/verify.ts';
import { samplesKept, samplesKeptSchema, sha256 } from '../store/rows.ts';
import { chunkFaults, eventsOf, lateName } from './agree.ts';
import { type ChainFile, chainLines, readChain } from './chain-file.ts';
import { contextOfRun } from './context-file.ts';
import { dataPackage } from './data-package.ts';
import type { Parts } from './read.ts';
import { eventLines, sampleLines } from './write.ts';

/**
 * Where a sealed file was changed, as near as the record can tell: what the file must read like is written anew from
 * the chain and held against it line by line; samples are known to the chain by the minute.
 *
 * @param parts the folder as read, or null when it cannot be read any more
 * @param unreadable why not
 */
export function changedWhere(
  folder: string,
  file: string,
  parts: Parts | null,
  unreadable: Problem | null,
  unchanged: ReadonlySet<string>,
): Message {
  const chain = parts?.chain ?? (unchanged.has('chain.jsonl') ? readChain(join(folder, 'chain.jsonl')) : null);
  const where =
    (chain && againstChain(folder, file, chain, parts, unchanged)) || unreadableWhere(folder, file, unreadable) || '';
  return { code: 'seal-file-changed', params: { file, where } };
}

function unreadableWhere(folder: string, file: string, problem: Problem | null): string | null {
  if (!problem || problem.params['file'] !== file) return null;
  if (problem.code === 'recording-encoding') return `line ${badTextLine(readFileSync(join(folder, file)))}`;
  const { line, path } = problem.params;
  if (line !== undefined) return `line ${line}`;
  return path === undefined ? null : `field ${path}`;
}

/** The first line that is no UTF-8. A line end is no part of a longer character, so lines can be looked at alone. */
function badTextLine(bytes: Uint8Array): number {
  const decoder = new TextDecoder('utf-8', { fatal: true });
  let line = 1;
  for (let from = 0; from < bytes.length; line++) {
    const end = bytes.indexOf(10, from);
    const to = end < 0 ? bytes.length : end;
    try {
      if (bytes.subarray(from, to).includes(0)) return line;
      decoder.decode(bytes.subarray(from, to));
    } catch {
      return line;
    }
    from = to + 1;
  }
  return 1;
}

function againstChain(
  folder: string,
  file: string,
  chain: ChainFile,
  parts: Parts | null,
  unchanged: ReadonlySet<string>,
): string | null {
  const text = (): string => readFileSync(join(folder, file), 'utf8');
  if (file === 'chain.jsonl') return differsAt(text(), [...chainLines(chain)]) ?? chainWhere(chain);
  // What is written anew from a changed chain proves nothing.
  if (!unchanged.has('chain.jsonl')) return null;
  if (file === 'events.csv') return differsAt(text(), [...eventLines(eventsOf(chain))]);
  if (file === 'context.json') return differsAt(text(), JSON.stringify(contextOfRun(chain.head), null, 2).split('\n'));
  if (file === 'recording.csv' && parts) return samplesWhere(text(), chain, parts);
  if (file === lateName && parts) return lateWhere(text(), chain, parts);
  if (file === 'datapackage.json' && parts) return packageWhere(text(), folder, chain, parts);
  return null;
}

/** The first line that is not as expected, or null when every one is. */
function differsAt(text: string, expected: readonly string[]): string | null {
  const found = text.split('\n');
  const wanted = [...expected, ''];
  const at = wanted.findIndex((line, i) => found[i] !== line);
  // A file that ends too early is told by its last line; a line put in, by its own.
  if (at >= 0) return `line ${found[at] === undefined ? Math.min(at + 1, expected.length) : at + 1}`;
  return found.length > wanted.length ? `line ${wanted.length}` : null;
}

function chainWhere({ head, links }: ChainFile): string {
  const verdict = verifyChain(head, links, sha256);
  const fault = verdict.intact ? undefined : verdict.faults[0];
  if (!fault) return '';
  // The head stands on line 1.
  return fault.kind === 'head' ? 'line 1' : `line ${fault.position + 2}`;
}

function samplesWhere(text: string, chain: ChainFile, parts: Parts): string {
  const columns = sampleColumnsOf(text);
  if (!columns) return 'line 1';
  const faults = chunkFaults(chain, parts.samples, parts.late).filter((f) => f.chunk >= 0);
  const first = faults[0];
  if (!first) return differsAt(text, [...sampleLines(parts.samples, columns)]) ?? '';
  // A row that went to another place spoils the chunks on both sides; the lines from the first to the last are told.
  const last = faults.at(-1) ?? first;
  const spans = chunkLines(chain, (chunk) => chunk >= 0);
  return `lines ${spans[first.chunk]?.[0] ?? 2} to ${spans[last.chunk]?.[1] ?? parts.samples.length + 1}`;
}

function lateWhere(text: string, chain: ChainFile, parts: Parts): string {
  const columns = sampleColumnsOf(text);
  if (!columns) return 'line 1';
  const faults = chunkFaults(chain, parts.samples, parts.late).filter((f) => f.chunk < 0);
  const first = faults[0];
  if (!first) return differsAt(text, [...sampleLines(parts.late, columns)]) ?? '';
  const last = faults.at(-1) ?? first;
  const spans = chunkLines(chain, (chunk) => chunk < 0);
  return `lines ${spans[-1 - first.chunk]?.[0] ?? 2} to ${spans[-1 - last.chunk]?.[1] ?? parts.late.length + 1}`;
}

/** The channels of a header as we write it, or null when it is none. */
function sampleColumnsOf(text: string): Channel[] | null {
  const header = (text.split('\n', 1)[0] ?? '').split(',');
  const columns = header.slice(1).flatMap((name) => channels.find((c) => c.column === name) ?? []);
  return columns.length === header.length - 1 && header[0] === 'time_s' ? columns : null;
}

/** First and last line in its file of each chunk of a kind; the header is line 1. */
function chunkLines(chain: ChainFile, isOne: (chunk: number) => boolean): [number, number][] {
  const spans: [number, number][] = [];
  let line = 2;
  for (const { event } of chain.links) {
    if (event.event !== samplesKept) continue;
    const { chunk = 0, count = 0 } = samplesKeptSchema.safeParse(event.data).data ?? {};
    if (!isOne(chunk)) continue;
    spans.push([line, line + count - 1]);
    line += count;
  }
  return spans;
}

function packageWhere(text: string, folder: string, chain: ChainFile, parts: Parts): string {
  const names = ['recording.csv', lateName, 'events.csv', 'context.json', 'chain.jsonl'];
  const beside = parts.files.filter((f) => f.name.startsWith('files/'));
  const files = [...names.flatMap((name) => parts.files.find((f) => f.name === name) ?? []), ...beside];
  const header = readFileSync(join(folder, 'recording.csv'), 'utf8').split('\n', 1)[0] ?? '';
  const { runId, title, startedAt } = chain.head;
  const end = { count: chain.links.length, hash: chain.links.at(-1)?.hash ?? genesisHash(chain.head, sha256) };
  const packed = dataPackage({ runId, title, startedAt }, files, header.split(','), end);
  return differsAt(text, JSON.stringify(packed, null, 2).split('\n')) ?? '';
}
