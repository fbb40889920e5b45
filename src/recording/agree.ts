import type { RunEvent } from '../core/job/event.ts';
import type { Message } from '../core/message/message.ts';
import { Problem } from '../core/message/problem.ts';
import type { Sample } from '../core/quantity/sample.ts';
import { canonical } from '../core/seal/canonical.ts';
import { type ChainEnd, verifyChain } from '../core/seal/verify.ts';
import { encodeChunk } from '../store/chunk.ts';
import { samplesKept, samplesKeptSchema, sha256 } from '../store/rows.ts';
import type { ChainFile } from './chain-file.ts';
import { contextOfRun } from './context-file.ts';
import { type EventsFile, eventRow } from './events-csv.ts';

/** Events of the run as its readers see them: in time order, without the store's own. */
export function eventsOf(chain: ChainFile): RunEvent[] {
  return chain.links
    .map((link) => link.event)
    .filter((event) => event.event !== samplesKept)
    .sort((a, b) => a.timeS - b.timeS);
}

/** The first fault of the chain itself, or null. */
export function chainProblem(chain: ChainFile, expected?: ChainEnd): Problem | null {
  const verdict = verifyChain(chain.head, chain.links, sha256, expected);
  const fault = verdict.intact ? undefined : verdict.faults[0];
  if (!fault) return null;
  const { kind, index, position, count = 1 } = fault;
  // The head stands on line 1.
  return new Problem('recording-chain-broken', { file: 'chain.jsonl', kind, index, count, line: position + 2 });
}

/** Where events.csv or context.json say something else than the chain, or null. */
export function agreement(parts: {
  readonly chain: ChainFile | null;
  readonly eventsFile: EventsFile | null;
  readonly rawContext: unknown;
}): Problem | null {
  const { chain, eventsFile, rawContext } = parts;
  if (!chain) return null;
  if (canonical(rawContext) !== canonical(contextOfRun(chain.head)))
    return new Problem('recording-context-differs', { file: 'context.json' });
  if (!eventsFile) return null;
  const chained = eventsOf(chain);
  const differs = (line: number, found: string, expected: string): Problem => {
    const params = { line, found: found.slice(0, 200), expected: expected.slice(0, 200) };
    return new Problem('recording-chain-disagrees', { file: 'events.csv', ...params });
  };
  const told = (event: RunEvent | undefined): string => (event ? eventRow(event) : 'no more events');
  // A row that cannot be read is one that the chain does not hold.
  const bad = eventsFile.leftOut[0];
  for (let i = 0; i < Math.max(chained.length, eventsFile.events.length); i++) {
    const [expected, found] = [told(chained[i]), told(eventsFile.events[i])];
    if (expected === found) continue;
    const line = eventsFile.lines[i] ?? (eventsFile.lines.at(-1) ?? 1) + 1;
    if (bad && bad.line <= line) break;
    return differs(line, found, expected);
  }
  return bad ? differs(bad.line, bad.text, told(chained[bad.at])) : null;
}

/** Samples that came late, where there are any. */
export const lateName = 'late.csv';

/** A span whose samples are not those that were chained. */
export interface ChunkFault {
  /** Below 0: of late.csv. */
  readonly chunk: number;
  readonly fromS: number;
  readonly toS: number;
}

/** Every chunk of the chain held against the samples; `[]` when all fit. */
export function chunkFaults(chain: ChainFile, samples: readonly Sample[], late: readonly Sample[]): ChunkFault[] {
  const faults: ChunkFault[] = [];
  let at = 0;
  let lateAt = 0;
  for (const { event } of chain.links) {
    if (event.event !== samplesKept) continue;
    const kept = samplesKeptSchema.safeParse(event.data).data;
    if (!kept) continue;
    const { chunk, fromS, toS, count } = kept;
    if (chunk < 0) {
      const group = late.slice(lateAt, lateAt + count);
      lateAt += count;
      if (group.length < count || sha256(encodeChunk(group)) !== kept.sha256) faults.push({ chunk, fromS, toS });
      continue;
    }
    // By time, so that a row put in or taken out spoils its own chunk only.
    let from = at;
    while (from < samples.length && (samples[from]?.timeS ?? 0) < fromS) from++;
    let to = from;
    while (to < samples.length && (samples[to]?.timeS ?? 0) <= toS) to++;
    const group = samples.slice(from, to);
    const fits = from === at && group.length === count && sha256(encodeChunk(group)) === kept.sha256;
    if (!fits) faults.push({ chunk, fromS, toS });
    at = to;
  }
  return faults;
}

export function chunkMessage(fault: ChunkFault): Message {
  const { chunk, fromS, toS } = fault;
  return { code: 'recording-samples-changed', params: { file: chunk < 0 ? lateName : 'recording.csv', fromS, toS } };
}
